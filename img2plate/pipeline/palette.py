"""The user's own palette: a card to lay beads on, measuring it, and what colours would help."""

from __future__ import annotations

import time
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from img2plate.base.errors import OptionError
from img2plate.base.files import safe_file
from img2plate.base.lengths import A4, Paper
from img2plate.colour.gamut import Gap
from img2plate.colour.gamut import suggest as suggest_tones
from img2plate.colour.palette import Palette
from img2plate.colour.palette_file import find_palette, write_palette
from img2plate.colour.picture_gamut import PictureGaps, picture_gaps
from img2plate.colour.spaces import bytes2linear, linear2lab
from img2plate.image.read import read_picture
from img2plate.measure.card import CARDS
from img2plate.measure.measured import CardPhoto, Measured, combine, read_card, read_names
from img2plate.typeset.measured import write_measured
from img2plate.typeset.picture_gaps import write_picture_gaps

TONES = 2000
"""Pixels looked at in each picture when colours are suggested."""
MOST_SIDE = 420
"""Long side, in pixels, at which a picture is looked at for tones out of reach."""


@dataclass(frozen=True, eq=False)
class BeadPalette:
    """What was measured, and the files written."""

    measured: Measured
    files: tuple[Path, ...]
    seconds: float


def write_card(out: Path, paper: Paper = A4, pitch_mm: float = 5.0) -> Path:
    """Write the card for beads of a pitch as PDF, true to scale.

    Raises OptionError when there is no card for such beads.
    """
    from img2plate.typeset.card import write_card as draw_card

    card = next((card for card in CARDS if card.pitch_mm == pitch_mm), None)
    if card is None:
        sizes = " and ".join(f"{card.pitch_mm:g}" for card in CARDS)
        raise OptionError(
            f"there are cards for beads of {sizes} mm, not {pitch_mm:g}", field="pitch_mm"
        )
    with safe_file(out) as temporary:
        draw_card(temporary, paper=paper, card=card)
    return out


def measure(photos: Sequence[Path], out: Path, *, names: Path | None = None) -> BeadPalette:
    """Measure one card in one or more photos; write the palette to `out`, a picture of each beside.

    Raises PictureError when a photo shows no card or no cell could be measured.
    """
    start = time.perf_counter()
    given = read_names(names) if names else {}
    read = [_read(path) for path in photos]
    measured = combine(read, title=out.stem, names=given)
    looked = [out.with_name(f"{out.stem}-{path.stem}-looked.png") for path in photos]
    if len(set(looked)) < len(looked):
        raise OptionError("two photos of one name; give them different names")
    with safe_file(out) as temporary:
        spread = [f"{value:.1f}" for value in measured.spread]
        write_palette(temporary, measured.palette, more={"spread": spread})
    for path, photo in zip(looked, read, strict=True):
        with safe_file(path) as temporary:
            write_measured(temporary, photo)
    return BeadPalette(measured, (out, *looked), time.perf_counter() - start)


def suggest(images: Sequence[Path], palette: str, count: int) -> list[Gap]:
    """Which colours would help a set of pictures most; each picture counts alike."""
    tones = []
    for path in images:
        pixels = read_picture(path).pixels
        seen = pixels[pixels[..., 3] > 127][:, :3]
        chosen = np.random.default_rng(0).integers(0, len(seen), TONES)
        tones.append(linear2lab(bytes2linear(seen[chosen]).astype(np.float64)))
    return suggest_tones(np.concatenate(tones), find_palette(palette), count)


def gaps_in(image: Path, palette: Palette, picture: Path) -> PictureGaps:
    """Find which tones of a picture file a palette cannot reach, and draw them as PNG."""
    import cv2

    pixels = read_picture(image).pixels
    shrink = MOST_SIDE / max(pixels.shape[:2])
    if shrink < 1:
        pixels = cv2.resize(pixels, None, fx=shrink, fy=shrink, interpolation=cv2.INTER_AREA)
    gaps = picture_gaps(pixels, palette)
    with safe_file(picture) as temporary:
        write_picture_gaps(temporary, palette, image.stem, pixels, gaps)
    return gaps


def _read(path: Path) -> CardPhoto:
    """Read one photo."""
    import cv2

    pixels = read_picture(path).pixels
    return read_card(cv2.cvtColor(pixels, cv2.COLOR_RGBA2RGB), path.name)  # faster than a slice
