"""Drawn pictures on which a person sees at once what a shading should not have done.

Each is drawn at 12 pixels a cell. The figures say which share of the cells is as it should be; the
tests want nearly all, the bench prints them.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from PIL import Image, ImageDraw
from scipy.ndimage import label

from img2plate.colour.difference import delta_E_HyAB
from img2plate.colour.palette import Palette
from img2plate.colour.spaces import linear2lab
from img2plate.image.grid import Grid
from img2plate.image.sample import sample
from img2plate.image.sizing import SizeWish, frame

EACH = 12
LETTERS = {
    "B": "11110 10001 10001 11110 10001 10001 11110",
    "A": "01110 10001 10001 11111 10001 10001 10001",
    "Y": "10001 10001 01010 00100 00100 00100 00100",
    "7": "11111 00001 00010 00100 01000 01000 01000",
}


@dataclass(frozen=True)
class Plain:
    """A picture and what to ask of its plate."""

    image: Image.Image
    good: Callable[[np.ndarray, Grid, Palette], float]
    """Share of the cells (h, w) that are as they should be."""

    def on(self, per_cell: int = 1) -> Grid:
        """The picture on its cells."""
        rgba = np.array(self.image.convert("RGBA"))
        height, width = rgba.shape[:2]
        framing = frame((width, height), SizeWish(width // EACH, height // EACH, "cover"))
        return sample(rgba, framing, per_cell=per_cell)


def _canvas(width: int, height: int, colour: str) -> tuple[Image.Image, ImageDraw.ImageDraw]:
    image = Image.new("RGB", (width * EACH, height * EACH), colour)
    return image, ImageDraw.Draw(image)


def grey_ramp() -> Plain:
    """Black to white, 30 x 12: a grey area gets no chromatic bead."""
    ramp = np.linspace(0, 255, 30 * EACH).astype(np.uint8)
    image = Image.fromarray(np.broadcast_to(ramp[None, :, None], (12 * EACH, ramp.size, 3)).copy())

    def good(cells: np.ndarray, grid: Grid, palette: Palette) -> float:
        chroma = np.hypot(palette.lab[:, 1], palette.lab[:, 2])
        nearest = delta_E_HyAB(linear2lab(grid.rgb)[..., None, :], palette.lab).argmin(axis=-1)
        return float((chroma[cells] <= np.maximum(12, chroma[nearest] + 1)).mean())

    return Plain(image, good)


def flat_areas() -> Plain:
    """Sky, grass and a wall, 30 x 24: one colour each, or a regular mix of two."""
    image, draw = _canvas(30, 24, "#9db6c4")
    draw.rectangle((0, 14 * EACH, 30 * EACH, 24 * EACH), fill="#86c256")
    draw.rectangle((9 * EACH, 8 * EACH, 19 * EACH - 1, 18 * EACH - 1), fill="#e2b7a2")
    areas = ((0, 14, 0, 9), (0, 8, 0, 30), (18, 24, 0, 30), (8, 18, 9, 19))

    def good(cells: np.ndarray, _grid: Grid, _palette: Palette) -> float:
        right = total = 0
        for top, bottom, left, after in areas:
            area = cells[top:bottom, left:after]
            regular = (area[2:] == area[:-2]).all() and (area[:, 2:] == area[:, :-2]).all()
            right += area.size * (regular and len(np.unique(area)) <= 2)
            total += area.size
        return right / total

    return Plain(image, good)


def thin_line() -> Plain:
    """A dark line one bead thick in waves on a light ground, 40 x 20: it stays connected."""
    image, draw = _canvas(40, 20, "#efe9dc")
    x = np.arange(0, 40 * EACH)
    y = (10 + 6 * np.sin(x / EACH / 6)) * EACH
    for dx, dy in zip(x.tolist(), y.tolist(), strict=True):
        draw.rectangle((dx, dy - EACH / 2, dx, dy + EACH / 2 - 1), fill="#1d2733")

    def good(cells: np.ndarray, grid: Grid, palette: Palette) -> float:
        dark = palette.lab[cells][..., 0] < 75
        pieces, _ = label(dark, np.ones((3, 3)))
        longest = np.bincount(pieces.ravel())[1:].argmax() + 1
        light = linear2lab(grid.rgb)[..., 0] > 88
        return min(float((pieces == longest).any(axis=0).mean()), float((~dark)[light].mean()))

    return Plain(image, good)


def lettering() -> Plain:
    """BAY 7 in letters 7 beads high that lie a third of a bead off the pegs, 30 x 13."""
    image, draw = _canvas(30, 13, "#f2f2ee")
    for place, letter in enumerate("BAY 7"):
        for row, bits in enumerate(LETTERS.get(letter, "").split()):
            for column, bit in enumerate(bits):
                if bit == "1":
                    left, top = (2.3 + 5.5 * place + column) * EACH, (3.3 + row) * EACH
                    draw.rectangle((left, top, left + EACH - 1, top + EACH - 1), fill="#173a6b")

    def good(cells: np.ndarray, grid: Grid, palette: Palette) -> float:
        wanted = linear2lab(grid.rgb)[..., 0]
        sure = (wanted < 50) | (wanted > 80)
        is_dark = palette.lab[cells][..., 0] < 65
        return float((is_dark == (wanted < 65))[sure].mean())

    return Plain(image, good)


def hue_gradient() -> Plain:
    """Blue into yellow through grey, 40 x 12: no third hue breaks in."""
    part = np.linspace(0, 1, 40 * EACH)[None, :, None]
    row = (1 - part) * np.array([40, 80, 190]) + part * np.array([240, 210, 60])
    image = Image.fromarray(np.repeat(row, 12 * EACH, axis=0).astype(np.uint8))

    def good(cells: np.ndarray, grid: Grid, palette: Palette) -> float:
        ends = linear2lab(grid.rgb)[0][[0, -1], 1:]
        along = (ends[1] - ends[0]) / np.linalg.norm(ends[1] - ends[0])
        away = palette.lab[cells][..., 1:] - ends[0]
        aside = np.abs(away[..., 0] * along[1] - away[..., 1] * along[0])
        return float((aside <= 45).mean())

    return Plain(image, good)


PLAIN = {
    "grey ramp": grey_ramp,
    "flat areas": flat_areas,
    "thin line": thin_line,
    "lettering": lettering,
    "hue gradient": hue_gradient,
}
