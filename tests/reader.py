"""Reads printed sheets as a person with a ruler would: from the picture and the words alone.

Nothing of the writer's geometry is used. The rulers are found by their eleven even ticks, and say
how many pixels a millimetre takes each way; they start where the first cells start. The words say
which pegs of the plate a page shows, and whether it is mirrored. Of several tiles on a page each
has its words above its upper left corner, all at one distance.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import pypdfium2

INK = np.array([0x1D, 0x2B, 0x33])
ACCENT = np.array([0xB5, 0x45, 0x2E])
MM_PER_INCH = 25.4


@dataclass(frozen=True)
class TilePage:
    """One tile page, as read."""

    picture: np.ndarray
    words: str
    x_per_mm: float
    y_per_mm: float
    left: float
    """Pixels to the left edge of the cells."""
    top: float
    columns: tuple[int, int]
    """First and last, from 1, as the page says."""
    rows: tuple[int, int]
    mirrored: bool

    @property
    def tile(self) -> str:
        """Its name; a plate on one board carries its own instead."""
        first = self.words.split()[0]
        return first if re.fullmatch(r"[A-Z]+\d+", first) else "A1"

    def cells(self, srgb: np.ndarray, pitch: float) -> np.ndarray:
        """(h, w) nearest colour near each cell's corner, the plate's way round; white is -1."""
        across = self.columns[1] - self.columns[0] + 1
        down = self.rows[1] - self.rows[0] + 1
        x = self.left + (np.arange(across) + 0.17) * pitch * self.x_per_mm
        y = self.top + (np.arange(down) + 0.17) * pitch * self.y_per_mm
        seen = self.picture[y.round().astype(int)[:, None], x.round().astype(int)].astype(int)
        table = np.vstack([srgb, [[255, 255, 255]]]).astype(int)
        index = np.abs(seen[:, :, None, :] - table).sum(axis=3).argmin(axis=2)
        index = np.where(index == len(srgb), -1, index)
        return index[:, ::-1] if self.mirrored else index

    def marks(self, edge: str, pitch: float) -> np.ndarray:
        """Where accent ticks cross a line just outside a printed edge, plate mm from 0."""
        x, y = self.left, self.top
        right = x + (self.columns[1] - self.columns[0] + 1) * pitch * self.x_per_mm
        bottom = y + (self.rows[1] - self.rows[0] + 1) * pitch * self.y_per_mm
        if edge in ("left", "right"):
            at = x - 4.6 * self.x_per_mm if edge == "left" else right + 4.6 * self.x_per_mm
            line = self.picture[:, round(at)]
            place = (_ticks(line, ACCENT, self.y_per_mm) - y) / self.y_per_mm
            place = place[(place > 0) & (place < (bottom - y) / self.y_per_mm)]
            return place + (self.rows[0] - 1) * pitch
        at = y - 4.1 * self.y_per_mm if edge == "top" else bottom + 4.6 * self.y_per_mm
        line = self.picture[round(at)]
        place = (_ticks(line, ACCENT, self.x_per_mm) - x) / self.x_per_mm
        place = place[(place > 0) & (place < (right - x) / self.x_per_mm)]
        if self.mirrored:
            return np.sort(self.columns[1] * pitch - place)
        return place + (self.columns[0] - 1) * pitch


def _ticks(
    line: np.ndarray, colour: np.ndarray, per_mm: float, wide: tuple[float, float] = (0.2, 0.6)
) -> np.ndarray:
    """Middles of strokes of a colour and so many mm wide, along a line of pixels, sub-pixel."""
    # How far each pixel is from paper towards the colour: 1 on the stroke, less on its soft edge.
    towards = 255.0 - colour
    share = np.clip(((255.0 - line) @ towards) / (towards @ towards), 0, 1)
    other = np.abs(255.0 - line - share[:, None] * towards).max(axis=1) > 25
    share[other] = 0
    places = np.flatnonzero(share > 0.05)
    if not len(places):
        return np.empty(0)
    groups = np.split(places, np.flatnonzero(np.diff(places) > 1) + 1)
    middles = [
        (group * share[group]).sum() / share[group].sum() + 0.5
        for group in groups
        if wide[0] < share[group].sum() / per_mm < wide[1]
    ]
    return np.array(middles)


def render(
    path: Path, number: int, dpi: float, *, mm: tuple[float, float, float, float] | None = None
) -> np.ndarray:
    """(h, w, 3) uint8 picture of a page, or of a part of it: left, top, right, bottom in mm."""
    document = pypdfium2.PdfDocument(path)
    try:
        page, crop = document[number], (0.0, 0.0, 0.0, 0.0)
        if mm:
            left, top, right, bottom = (value * 72 / MM_PER_INCH for value in mm)
            crop = (left, page.get_height() - bottom, page.get_width() - right, top)
        picture = page.render(scale=dpi / 72, crop=crop).to_numpy()[..., :3]
        return picture[..., ::-1].copy()  # pdfium gives blue first
    finally:
        document.close()


def page_words(path: Path) -> list[str]:
    """Text of each page."""
    document = pypdfium2.PdfDocument(path)
    try:
        return [page.get_textpage().get_text_range() for page in document]
    finally:
        document.close()


PEGS = re.compile(r"columns (\d+) to (\d+), rows (\d+) to (\d+)")
LABEL = re.compile(r"([A-Z]+\d+)\s+" + PEGS.pattern)


def tile_pages(path: Path, dpi: float = 300) -> list[TilePage]:
    """All tiles that pages show, in order."""
    found = []
    for number, words in enumerate(page_words(path)):
        if "this way up" in words and "100 mm" in words:
            picture = render(path, number, dpi)
            first = read_tile_page(picture, words, dpi)
            labels = LABEL.findall(words)
            shared = len(PEGS.findall(words)) > 1
            found += _frames(path, number, first, labels, dpi) if shared else [first]
    return found


def _frames(path: Path, number: int, first: TilePage, labels: list, dpi: float) -> list[TilePage]:
    """The tiles of a page that several share."""
    document, frames = pypdfium2.PdfDocument(path), []
    page = document[number]
    text = page.get_textpage()
    # Of the first tile one knows how far its words stand from its cells.
    places = [_place_of(text, label, page.get_height(), dpi) for label in labels]
    off = first.left - places[0][0], first.top - places[0][1]
    for (x, y), (name, *pegs) in zip(places, labels, strict=True):
        left, top = x + off[0], y + off[1]
        columns, rows = tuple(map(int, pegs[:2])), tuple(map(int, pegs[2:]))
        frames.append(replace(first, words=name, left=left, top=top, columns=columns, rows=rows))
    document.close()
    return frames


def _place_of(text: object, label: tuple[str, ...], high: float, dpi: float) -> tuple[float, float]:
    """Pixels of the left end of the words of a tile, and of their upper edge."""
    name, *pegs = label
    index, _ = text.search("columns {} to {}, rows {} to {}".format(*pegs)).get_next()
    start = index - 1
    while text.get_text_range(start, len(name)) != name:
        start -= 1
    # The loose box is that of the line and of the letter's advance, whatever letter it is.
    left, _, _, top = text.get_charbox(start, loose=True)
    return left * dpi / 72, (high - top) * dpi / 72


def read_tile_page(picture: np.ndarray, words: str, dpi: float) -> TilePage:
    """Find the rulers, and where cells start; of the first tile on the page."""
    near = dpi / MM_PER_INCH
    x_ticks = find_ruler(picture, near)
    y_ticks = find_ruler(picture.transpose(1, 0, 2), near, towards=-1)
    pegs = tuple(map(int, PEGS.search(words).groups()))
    return TilePage(
        picture,
        words,
        (x_ticks[-1] - x_ticks[0]) / 100,
        (y_ticks[-1] - y_ticks[0]) / 100,
        x_ticks[0],
        y_ticks[0],
        pegs[:2],
        pegs[2:],
        "MIRRORED" in words,
    )


def find_ruler(picture: np.ndarray, near: float, towards: int = 1) -> np.ndarray:
    """Places of the eleven ticks of a ruler that lies across; `near` is about a mm in pixels."""
    # Rows with much ink, by one channel: enough to choose the few that are looked at closely.
    green = picture[..., 1]
    filled = np.count_nonzero((green > INK[1] - 30) & (green < INK[1] + 30), axis=1)
    for y in np.flatnonzero(filled > 70 * near):
        beside = y + towards * round(1.2 * near)
        if not 0 <= beside < len(picture):
            continue
        ticks = _ticks(picture[beside], INK, near, (0.12, 0.35))
        for first in range(len(ticks) - 10):
            eleven = ticks[first : first + 11]
            steps = np.diff(eleven)
            if 8 * near < steps.mean() < 12 * near and np.ptp(steps) < 0.1 * near:
                return eleven
    raise AssertionError("no ruler on this page")
