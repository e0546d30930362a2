"""Photos of a card of beads, rendered with known colours by other libraries than the reader's.

The card's own PDF is drawn by pypdfium2; beads with holes, gloss and shadow are painted on it with
numpy; light, cast, perspective (scikit-image), blur, noise and JPEG (Pillow) come on top.
"""

from __future__ import annotations

import io
import tempfile
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np
import pypdfium2
from numpy.typing import NDArray
from PIL import Image
from scipy import ndimage
from skimage.transform import ProjectiveTransform, warp

from img2plate.base.lengths import PAPERS
from img2plate.colour.spaces import bytes2linear, linear2srgb, srgb2linear
from img2plate.measure.card import CARDS, CELLS, Card
from img2plate.typeset.card import corner_mm, write_card

PX = 8
"""Pixels of the flat scene for each mm of the 5 mm card, and for as much of a smaller one."""
EMPTY_CELLS = (5, 17)
A4 = PAPERS["A4"]
LEFT, TOP = corner_mm(A4, CARDS[0])


@dataclass(frozen=True, eq=False)
class Photo:
    srgb: NDArray[np.uint8]
    truth: dict[int, NDArray[np.float64]]
    """Linear colour relative to the paper, by cell from 1."""


@cache
def printed(card: Card = CARDS[0]) -> NDArray[np.float32]:
    """Linear light of the printed card, paper = 1; of a smaller card as much paper round it as its
    scale says."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "card.pdf"
        write_card(path, paper=A4, card=card)
        document = pypdfium2.PdfDocument(path)
        page = document[0].render(scale=PX * 25.4 / 72 / card.scale).to_numpy()[..., :3]
        document.close()
    high, wide = round(A4.height_mm * PX), round(A4.width_mm * PX)
    top, left = (page.shape[0] - high) // 2, (page.shape[1] - wide) // 2
    page = page[top : top + high, left : left + wide, ::-1]
    return bytes2linear(page)


def truth_colours(rng: np.random.Generator) -> dict[int, NDArray[np.float64]]:
    """A colour for each cell but the empty ones: near-black to near-white, dull and vivid."""
    truth: dict[int, NDArray[np.float64]] = {}
    for number in range(1, len(CELLS) + 1):
        if number not in EMPTY_CELLS:
            value, dull = rng.uniform(0.12, 0.93), rng.uniform(0, 1)
            srgb = value * (1 - dull * rng.uniform(0, 0.9, 3))
            truth[number] = np.asarray(srgb2linear(srgb), np.float64)
    return truth


def scene(
    truth: dict[int, NDArray[np.float64]], rng: np.random.Generator, card: Card
) -> NDArray[np.float32]:
    """The card with its beads, as light relative to the paper."""
    flat = printed(card).copy()
    for number, colour in truth.items():
        box = CELLS[number - 1]
        for row in range(4):
            for column in range(4):
                x = LEFT + box.left + 0.7 + 2.45 + column * 4.9 + rng.normal(0, 0.06)
                y = TOP + box.top + 0.7 + 2.45 + row * 4.9 + rng.normal(0, 0.06)
                _bead(flat, x * PX, y * PX, colour, rng)
    return flat


def _bead(
    flat: NDArray[np.float32], x: float, y: float, colour: NDArray[np.float64],
    rng: np.random.Generator,
) -> None:  # fmt: skip
    """One standing bead from above: shadow beside it, ring, dark hole, a glint."""
    reach = int(3.4 * PX)
    rows = slice(int(y) - reach, int(y) + reach)
    columns = slice(int(x) - reach, int(x) + reach)
    v, u = np.mgrid[rows, columns]
    du, dv = (u - x) / PX, (v - y) / PX
    distance = np.hypot(du, dv)
    part = flat[rows, columns]
    shade = np.clip((2.9 - np.hypot(du - 0.35, dv - 0.35)) / 0.5, 0, 1) * 0.45
    part *= 1 - (shade * (distance > 2.4))[..., None]
    ring = np.clip((2.45 - distance) * PX, 0, 1) * np.clip((distance - 1.3) * PX, 0, 1)
    slope = np.clip((distance - 1.88) / 0.58, -1, 1)
    lit = 1 + 0.10 * slope * -(du + dv) / np.maximum(distance, 0.1) / 1.414
    hole = np.clip((1.3 - distance) * PX + 1, 0, 1)
    inside = 0.28 * (0.5 * colour + 0.5)
    part[...] = part * (1 - hole[..., None]) + hole[..., None] * inside
    part[...] = part * (1 - ring[..., None]) + ring[..., None] * colour * lit[..., None]
    turn = rng.normal(-2.36, 0.15)
    glint = np.hypot(du - 1.9 * np.cos(turn), dv - 1.9 * np.sin(turn))
    part += (0.8 * np.exp(-((glint / 0.28) ** 2)) * ring)[..., None]


def photo(seed: int, *, size: tuple[int, int] = (1800, 2400), hide: tuple[int, ...] = (),
          blur: float | None = None, exposure: float | None = None, card: Card = CARDS[0],
          fill: float = 0.86, greys: tuple[float, float] | None = None) -> Photo:  # fmt: skip
    """One photo (w, h) from a seed; `hide` covers markers by number, the page takes about `fill`
    of its width and height; with `greys` the beads are grey, from and to sRGB 0..1."""
    rng = np.random.default_rng(seed)
    truth = truth_colours(rng)
    if greys:
        values = srgb2linear(np.linspace(*greys, len(truth)))
        truth = {number: np.full(3, v) for number, v in zip(truth, values, strict=True)}
    flat = scene(truth, rng, card)
    _cover(flat, hide)
    height, width = flat.shape[:2]
    y = np.linspace(-1, 1, height, dtype=np.float32)[:, None]
    x = np.linspace(-1, 1, width, dtype=np.float32)
    turn = rng.uniform(0, 2 * np.pi)
    light = 1 - rng.uniform(0, 0.25) * (x * np.cos(turn) + y * np.sin(turn) + 1.4) / 2.8
    light *= 1 - rng.uniform(0, 0.12) * (x**2 + y**2)
    warm = rng.uniform(-0.16, 0.16)
    cast = np.array([1 + warm, 1.0, 1 - warm])
    light *= exposure or rng.uniform(0.6, 0.85)
    for channel, share in enumerate(cast / cast.max()):
        flat[..., channel] *= light * np.float32(share)
    seen = _project(flat, size, fill, rng)
    seen = ndimage.gaussian_filter(seen, (*[blur or rng.uniform(0.3, 0.9)] * 2, 0))
    noise = rng.standard_normal(seen.shape, np.float32)
    seen += noise * np.sqrt(0.004**2 + 0.012**2 * np.maximum(seen, 0))
    srgb = np.round(linear2srgb(np.clip(seen, 0, 1)) * 255).astype(np.uint8)
    file = io.BytesIO()
    Image.fromarray(srgb).save(file, "JPEG", quality=int(rng.integers(85, 96)))
    return Photo(np.asarray(Image.open(file).convert("RGB")), truth)


def _cover(flat: NDArray[np.float32], hide: tuple[int, ...]) -> None:
    """Lay something grey over markers."""
    from img2plate.measure.card import MARKERS

    for number in hide:
        box = MARKERS[number]
        y, x = round((TOP + box.top + 6) * PX), round((LEFT + box.left + 6) * PX)
        flat[y : y + 10 * PX, x : x + 10 * PX] = 0.3


def _project(
    flat: NDArray[np.float32], size: tuple[int, int], fill: float, rng: np.random.Generator
) -> NDArray[np.float32]:
    """See the page in perspective on a grey table."""
    height, width = flat.shape[:2]
    wide, high = size
    page = np.array([(0, 0), (width, 0), (width, height), (0, height)], float)
    near, far = 0.5 - fill / 2, 0.5 + fill / 2
    unit = np.array([(near, near), (far, near), (far, far), (near, far)])
    unit[:, 1] += np.sign(unit[:, 1] - 0.5) * 0.01
    there = (unit + rng.uniform(-0.05, 0.05, (4, 2))) * (wide, high)
    transform = ProjectiveTransform.from_estimate(there, page)
    seen = warp(flat, transform, output_shape=(high, wide), order=1, cval=np.nan)
    return np.where(np.isnan(seen), 0.18, seen)
