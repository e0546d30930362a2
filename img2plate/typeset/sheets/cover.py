"""The first pages: what this is, and how the boards lie."""

from __future__ import annotations

from typing import Any

from img2plate.plate.plate import Plate
from img2plate.split.tiles import Split
from img2plate.tally.counts import Counts
from img2plate.typeset.look import ACCENT, INK, PAPER, QUIET
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
    for note in _notes(plate, split, printing):
        for line in sheet.wrap(note, 10, right - left):
            sheet.text(left, y, line, 10)
            y += 5.5
    sheet.end()


def _notes(plate: Plate, split: Split, printing: Printing) -> list[str]:
    """What else to know before printing."""
    way = (
        "The front lies down on the boards: boards and their pages are laid out mirrored."
        if printing.mirrored
        else "The front looks up from the boards: nothing is mirrored."
    )
    notes = [
        f"Pitch {plate.palette.pitch_mm:g} mm, palette {plate.palette.name}.",
        way,
        "In this file: board map, a true-scale page for each board, count sheet, how to press.",
        "Print at 100 % (no 'fit to page'), then measure the 100 mm rulers on any board's page.",
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


def draw_board_map(sheet: Sheet, printing: Printing, plate: Plate, split: Split) -> None:
    """The whole plate with its boards' names and its seams' numbers, as the boards lie."""
    paper = printing.paper
    sheet.start(paper.width_mm, paper.height_mm)
    left = MARGIN + 8
    sheet.text(left, MARGIN + 12, "Board map", 20, bold=True)
    seen = "MIRRORED: the front lies down." if printing.mirrored else "As the boards lie."
    sheet.text(left, MARGIN + 19, f"{seen} A seam's number is on both boards' pages.", 10)
    size = _fit(plate.size, paper.width_mm - 2 * left, paper.height_mm - _TOP - MARGIN)
    step = size[0] / plate.size[0]
    sheet.picture(_thumbnail(plate, faint=True, mirrored=printing.mirrored), left, _TOP, *size)

    def across(peg: float) -> float:
        return left + step * (plate.size[0] - peg if printing.mirrored else peg)

    for tile in split.tiles:
        (x, x_end), y = sorted((across(tile.x), across(tile.x + tile.width))), _TOP + tile.y * step
        high = tile.height * step
        sheet.lines([(x, y, x_end, y), (x, y, x, y + high), (x_end, y, x_end, y + high),
                     (x, y + high, x_end, y + high)], 0.4, INK)  # fmt: skip
        letters = min(32.0, (x_end - x) * 1.1, high * 1.4)
        sheet.text((x + x_end) / 2, y + high / 2 + letters * 0.12, tile.name, letters, bold=True,
                   align="middle")  # fmt: skip
    letters = min(14.0, split.board[0] * step * 0.45)
    for seam in split.seams:
        middle, at = across((sum(seam.span) + 1) / 2), _TOP + step * seam.at
        if seam.is_vertical:
            middle, at = across(seam.at), _TOP + step * (sum(seam.span) + 1) / 2
        wide = max(sheet.text_width(str(seam.number), letters, bold=True) + 1, letters * 0.5)
        sheet.dots([(middle, at)], wide, ACCENT)
        sheet.text(middle, at + letters * 0.12, str(seam.number), letters, bold=True,
                   colour=PAPER, align="middle")  # fmt: skip
    sheet.end()


def _fit(size: tuple[int, int], width: float, height: float) -> tuple[float, float]:
    """Largest size of the aspect in a box of mm."""
    scale = min(width / size[0], height / size[1])
    return size[0] * scale, size[1] * scale


def _thumbnail(plate: Plate, *, faint: bool = False, mirrored: bool = False) -> Any:
    """One pixel per bead on white, or half-way to white, behind writing."""
    import numpy as np
    from PIL import Image

    colours = np.vstack([plate.palette.srgb, np.full((1, 3), 255, np.uint8)])
    if faint:
        colours = (255 - (255 - colours.astype(np.uint16)) * 2 // 5).astype(np.uint8)
    cells = plate.cells[:, ::-1] if mirrored else plate.cells
    image = Image.fromarray(colours[cells])
    # Viewers smooth small pictures; repeated pixels stay squares.
    times = max(1, 600 // max(plate.size))
    return image.resize((image.width * times, image.height * times), Image.Resampling.NEAREST)
