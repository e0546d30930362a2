"""The first pages: what this is, and how the boards lie."""

from __future__ import annotations

from typing import Any

from img2plate.base.lengths import Paper
from img2plate.plate.plate import Plate
from img2plate.split.tiles import Split
from img2plate.tally.counts import Counts
from img2plate.typeset.look import ACCENT, INK, QUIET
from img2plate.typeset.sheets.geometry import MARGIN
from img2plate.typeset.sheets.sheet import Sheet

_TOP = 46.0


def draw_cover(sheet: Sheet, paper: Paper, plate: Plate, split: Split, counts: Counts) -> None:
    """Title, picture, figures, what the pack holds."""
    sheet.start(paper.width_mm, paper.height_mm)
    left, right = MARGIN + 8, paper.width_mm - MARGIN - 8
    sheet.text(left, MARGIN + 20, plate.name, 32, bold=True)
    (width, height), (wide, high) = plate.size, plate.size_mm
    sheet.text(left, MARGIN + 29, f"{width} x {height} cells, {wide / 10:g} x {high / 10:g} cm", 14)
    picture = _fit((width, height), right - left, paper.height_mm * 0.52)
    sheet.picture(_thumbnail(plate), left, _TOP, *picture)
    y = _TOP + picture[1] + 12
    columns, rows = split.map_size
    figures = [
        (f"{counts.beads:,}", "beads"),
        (str(len(counts.colours)), "colours"),
        (f"{columns} x {rows}", f"boards of {split.board[0]} x {split.board[1]} pegs"),
        (f"{counts.hours:.1f}", f"hours at {counts.seconds_per_bead:g} s a bead"),
        (f"{counts.grams:,.0f}", f"grams, {counts.spare_percent:g} % spare among them"),
    ]
    for place, (number, what) in enumerate(figures):
        x = left + place % 3 * (right - left) / 3
        row = y + place // 3 * 17
        sheet.text(x, row, number, 20, bold=True)
        sheet.text(x, row + 5.5, what, 10, colour=QUIET)
    y += 40
    for line in (
        f"Pitch {plate.palette.pitch_mm:g} mm, palette {plate.palette.name}.",
        "In this file: board map, a true-scale page for each board, count sheet, how to press.",
        "Print at 100 % (no 'fit to page'), then measure the 100 mm rulers on any board's page.",
    ):
        sheet.text(left, y, line, 10)
        y += 5.5
    sheet.end()


def draw_board_map(sheet: Sheet, paper: Paper, plate: Plate, split: Split) -> None:
    """The whole plate with its boards' names and its seams' numbers."""
    sheet.start(paper.width_mm, paper.height_mm)
    left = MARGIN + 8
    sheet.text(left, MARGIN + 12, "Board map", 20, bold=True)
    sheet.text(left, MARGIN + 19, "Seen from above. A seam's number is on both boards' pages.", 10)
    size = _fit(plate.size, paper.width_mm - 2 * left, paper.height_mm - _TOP - MARGIN)
    step = size[0] / plate.size[0]
    sheet.picture(_thumbnail(plate, faint=True), left, _TOP, *size)
    for tile in split.tiles:
        x, y = left + tile.x * step, _TOP + tile.y * step
        wide, high = tile.width * step, tile.height * step
        sheet.lines([(x, y, x + wide, y), (x, y, x, y + high), (x + wide, y, x + wide, y + high),
                     (x, y + high, x + wide, y + high)], 0.4, INK)  # fmt: skip
        letters = min(32.0, wide * 1.1, high * 1.4)
        sheet.text(x + wide / 2, y + high / 2 + letters * 0.12, tile.name, letters, bold=True,
                   align="middle")  # fmt: skip
    letters = min(10.0, split.board[0] * step * 0.45)
    for seam in split.seams:
        middle, at = left + step * (sum(seam.span) + 1) / 2, _TOP + step * seam.at
        if seam.is_vertical:
            middle, at = left + step * seam.at, _TOP + step * (sum(seam.span) + 1) / 2
        radius = letters * 0.25
        sheet.polygon([(middle - radius, at), (middle, at - radius), (middle + radius, at),
                       (middle, at + radius)], ACCENT)  # fmt: skip
        sheet.text(middle + radius + 0.3, at - 0.4, str(seam.number), letters, bold=True,
                   colour=ACCENT)  # fmt: skip
    sheet.end()


def _fit(size: tuple[int, int], width: float, height: float) -> tuple[float, float]:
    """Largest size of the aspect in a box of mm."""
    scale = min(width / size[0], height / size[1])
    return size[0] * scale, size[1] * scale


def _thumbnail(plate: Plate, *, faint: bool = False) -> Any:
    """One pixel per bead on white, or half-way to white, behind writing."""
    import numpy as np
    from PIL import Image

    colours = np.vstack([plate.palette.srgb, np.full((1, 3), 255, np.uint8)])
    if faint:
        colours = (255 - (255 - colours.astype(np.uint16)) * 2 // 5).astype(np.uint8)
    image = Image.fromarray(colours[plate.cells])
    # Viewers smooth small pictures; repeated pixels stay squares.
    times = max(1, 600 // max(plate.size))
    return image.resize((image.width * times, image.height * times), Image.Resampling.NEAREST)
