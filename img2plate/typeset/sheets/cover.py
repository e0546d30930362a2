"""The first page: what this is."""

from __future__ import annotations

from typing import Any

from img2plate.base.arrays import Cells
from img2plate.plate.plate import Plate
from img2plate.split.tiles import Split
from img2plate.tally.counts import Counts
from img2plate.typeset.look import QUIET
from img2plate.typeset.sheets.geometry import has_beads
from img2plate.typeset.sheets.printing import MARGIN, Printing
from img2plate.typeset.sheets.sheet import Sheet

_TOP = 46.0


def draw_cover(
    sheet: Sheet, printing: Printing, plate: Plate, split: Split, counts: Counts
) -> None:
    """Title, picture, figures, what the pack holds."""
    paper = printing.paper
    sheet.start(paper.width_mm, paper.height_mm)
    left, right = MARGIN + 8, paper.width_mm - MARGIN - 8
    sheet.text(left, MARGIN + 20, sheet.shorten(plate.name, 32, right - left), 32, bold=True)
    (width, height), (wide, high) = plate.size, plate.size_mm
    sheet.text(left, MARGIN + 29, f"{width} x {height} cells, {wide / 10:g} x {high / 10:g} cm", 14)
    picture = fit_into((width, height), right - left, paper.height_mm * 0.52)
    sheet.picture(thumbnail(plate.cells, plate), left, _TOP, *picture)
    y = _TOP + picture[1] + 12
    columns, rows = split.map_size
    figures = [
        (f"{counts.beads:,}", "beads"),
        (str(len(counts.colours)), "colours"),
        (f"{columns} x {rows}", f"boards of {split.board[0]} x {split.board[1]} pegs"),
        (f"{counts.hours:.1f}", counts.effort.words),
        (f"{counts.grams:,.0f}", f"grams with {counts.spare_percent:g}% spare"),
    ]
    for place, (number, what) in enumerate(figures):
        x = left + place % 3 * (right - left) / 3
        row = y + place // 3 * 17
        sheet.text(x, row, number, 20, bold=True)
        sheet.text(x, row + 5.5, what, 10, colour=QUIET)
    y += 40
    for note in _notes(plate, split, printing):
        for line in sheet.wrap(note, 10, right - left):
            sheet.text(left, y, line, 10)
            y += 5.5
    sheet.end()


def _notes(plate: Plate, split: Split, printing: Printing) -> list[str]:
    """What else to know before printing."""
    way = (
        "The front faces down on the boards: boards and their pages are mirrored."
        if printing.mirrored
        else "The front faces up: nothing is mirrored."
    )
    notes = [
        f"Pitch {plate.palette.pitch_mm:g} mm, palette {plate.palette.name}.",
        way,
        "In this file: board map, a true-scale page for each board, count sheet, how to press.",
        "Print at 100% (no 'fit to page'), then measure the 100 mm rulers on any board's page.",
    ]
    if printing.is_corrected:
        short, long = printing.measured_mm
        notes.append(
            f"Corrected for a printer that prints 100 mm as {short:g} mm along the short side of"
            f" the paper and {long:g} mm along the long side."
        )
    if not all(has_beads(tile, plate.cells) for tile in split.tiles):
        notes.append("Boards without any bead have no page.")
    return notes


def fit_into(size: tuple[int, int], width: float, height: float) -> tuple[float, float]:
    """Largest size of the aspect in a box of mm."""
    scale = min(width / size[0], height / size[1])
    return size[0] * scale, size[1] * scale


def thumbnail(cells: Cells, plate: Plate, *, faint: bool = False, mirrored: bool = False) -> Any:
    """Picture of cells (h, w) of a plate on white, or half-way to white, behind writing."""
    import numpy as np
    from PIL import Image

    colours = np.vstack([plate.palette.srgb, np.full((1, 3), 255, np.uint8)])
    if faint:
        colours = (255 - (255 - colours.astype(np.uint16)) * 2 // 5).astype(np.uint8)
    image = Image.fromarray(colours[cells[:, ::-1] if mirrored else cells])
    # Viewers smooth small pictures; repeated pixels stay squares.
    times = max(1, 600 // max(cells.shape))
    return image.resize((image.width * times, image.height * times), Image.Resampling.NEAREST)
