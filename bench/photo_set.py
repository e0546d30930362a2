"""Openly licensed photos and fixed palettes for the shading benchmark.

Six photos to work with and two kept for a last look: chelsea, coffee (CC0), astronaut, rocket
(public domain), retina (CC0) and hubble_deep_field (public domain) from scikit-image, china and
flower (CC BY 2.0; tholian, dany13) from the scikit-learn wheel. The palettes are the 139 distinct
named colours of CSS Color Module Level 4, and subsets of them that lie far apart.
"""

from __future__ import annotations

import subprocess
import sys
import zipfile
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import skimage.data
from PIL import Image

from img2plate.colour.palette import Palette
from img2plate.colour.palette_file import find_palette
from img2plate.image.grid import Grid
from img2plate.image.sample import sample
from img2plate.image.sizing import SizeWish, frame

HERE = Path(__file__).parent
OUT = HERE / "out" / "photos"
PHOTOS = ("chelsea", "coffee", "astronaut", "rocket", "china", "flower")
LAST_LOOK = ("retina", "hubble_deep_field")
NEAR_FAR = ("chelsea", "coffee", "astronaut", "rocket", "china", "flower", "harbour", "camera")
NEAR_FAR_UNSEEN = ("retina", "hubble_deep_field", "motorcycle", "coins")
"""Never looked at while the several-view search was tuned."""
SIDES = (58, 116)
COUNTS = (24, 64, 139)


@dataclass(frozen=True, eq=False)
class Photo:
    """A photo framed to a square plate."""

    name: str
    pixels: np.ndarray
    """(h, w, 4) uint8."""

    def on(self, side: int, per_cell: int = 1) -> Grid:
        """Sample the middle square over side x side cells."""
        height, width = self.pixels.shape[:2]
        framing = frame((width, height), SizeWish(side, side, "cover"))
        return sample(self.pixels, framing, source=self.name, per_cell=per_cell)


def photo(name: str) -> Photo:
    """Read a photo by name, fetching it on first use."""
    if name in ("china", "flower"):
        rgb = np.array(Image.open(_from_wheel(name)).convert("RGB"))
    elif name == "harbour":
        rgb = np.array(Image.open(HERE.parent / "sample_inputs" / "harbour.jpg").convert("RGB"))
    elif name == "motorcycle":
        rgb = skimage.data.stereo_motorcycle()[0]
    else:
        rgb = getattr(skimage.data, name)()
    if rgb.ndim == 2:
        rgb = np.dstack([rgb] * 3)
    return Photo(name, np.dstack([rgb, np.full(rgb.shape[:2], 255, np.uint8)]))


def _from_wheel(name: str) -> Path:
    """Take a picture out of the scikit-learn wheel."""
    file = OUT / f"{name}.jpg"
    if not file.exists():
        OUT.mkdir(parents=True, exist_ok=True)
        pip = sys.executable, "-m", "pip", "download", "-q", "--no-deps", "-d", str(OUT)
        subprocess.run([*pip, "scikit-learn==1.9.1"], check=True)
        with zipfile.ZipFile(next(OUT.glob("scikit_learn*.whl"))) as archive:
            file.write_bytes(archive.read(f"sklearn/datasets/images/{name}.jpg"))
    return file


def palette(count: int) -> Palette:
    """Colours of css-named by farthest-point choice in CIELAB, black first; 139 gives all."""
    whole = find_palette("css-named")
    lab = whole.lab
    chosen = [int(lab[:, 0].argmin())]
    reach = ((lab - lab[chosen[0]]) ** 2).sum(-1)
    while len(chosen) < min(count, len(whole)):
        chosen.append(int(reach.argmax()))
        reach = np.minimum(reach, ((lab - lab[chosen[-1]]) ** 2).sum(-1))
    beads = tuple(whole.beads[i] for i in sorted(chosen))
    return Palette(f"css-{count}", beads)
