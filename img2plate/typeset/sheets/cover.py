"""The first page: what this is; where there is room, also how its boards lie and its counts."""

from __future__ import annotations

from collections import Counter

from img2plate.plate.plate import Plate
from img2plate.split.tiles import Split
from img2plate.tally.counts import Counts
from img2plate.typeset.look import HEADING, QUIET
from img2plate.typeset.preview import draw_picture
from img2plate.typeset.sheets.board_map import draw_map, map_in, map_words
from img2plate.typeset.sheets.count_page import count_below
from img2plate.typeset.sheets.geometry import FOOT
from img2plate.typeset.sheets.map_section import Box, Section
from img2plate.typeset.sheets.printing import MARGIN, Printing
from img2plate.typeset.sheets.sheet import Sheet
from img2plate.typeset.sheets.thumbnail import fit_into

_TOP = 46.0
_TITLE = 9.0
"""Above the map, mm."""
_APART = 8.0


def draw_cover(
    sheet: Sheet,
    printing: Printing,
    plate: Plate,
    split: Split,
    counts: Counts,
    empty: frozenset[str],
    symbols: dict[int, str],
    *,
    thickness_mm: float,
    with_counts: bool,
) -> tuple[bool, bool]:
    """Title, picture, figures, what the pack holds, and the counts if they are wanted and fit.

    Returns whether the board map stands on it, and whether the counts do.
    """
    paper = printing.paper
    sheet.start(paper.width_mm, paper.height_mm)
    left, right = MARGIN + 8, paper.width_mm - MARGIN - 8
    title = sheet.shorten(plate.name, 32, right - left, bold=True)
    sheet.text(left, MARGIN + 20, title, 32, bold=True, colour=HEADING)
    (width, height), (wide, high) = plate.size, plate.size_mm
    sheet.text(left, MARGIN + 29, f"{width} x {height} cells, {wide / 10:g} x {high / 10:g} cm", 14)
    room = left, _TOP, right - left, paper.height_mm * 0.54
    beside = _map_beside(room, split, printing) if len(split.tiles) > 1 else None
    box, section = beside or (room, None)
    image = draw_picture(plate, thickness_mm=thickness_mm, most=_side(plate))
    size = fit_into(image.size, box[2], box[3])
    sheet.picture(image, box[0], box[1], *size)
    y = _TOP + size[1]
    if section:
        sheet.text(section.left, section.top - 3, "Board map", 14, bold=True, colour=HEADING)
        draw_map(sheet, section, plate, split, empty)
        y = max(y, section.top + section.size[1])
    y = _draw_figures(sheet, split, counts, left, right, y + 12) + 4
    for note in _notes(split, printing, plate, empty, has_map=section is not None):
        for line in sheet.wrap(note, 10, right - left):
            sheet.text(left, y, line, 10)
            y += 5.2
    room_left = paper.height_mm - MARGIN - FOOT - y
    below = count_below(sheet, plate, counts, symbols, place=(left, right), height=room_left,
                        is_told=True) if with_counts else None  # fmt: skip
    if below:
        below.draw(y)
    sheet.end()
    return section is not None, below is not None


def _side(plate: Plate) -> int:
    """Pixels of the picture's long side: beads of ten pixels and more show their holes."""
    return min(1400, max(500, 24 * max(plate.size)))


def _map_beside(room: Box, split: Split, printing: Printing) -> tuple[Box, Section] | None:
    """A box for the picture, and the map beside or below it, whichever is larger."""
    left, top, wide, high = room
    half, low = (wide - _APART) / 2, (high - _TITLE - 4) / 2
    ways = (
        ((left, top, half, high), (left + half + _APART, top + _TITLE, half, high - _TITLE)),
        ((left, top, wide, low), (left, top + low + _TITLE + 4, wide, low)),
    )
    found = [
        (box, section)
        for box, map_box in ways
        if (section := map_in(map_box, split, mirrored=printing.mirrored))
    ]
    return max(found, key=lambda way: way[1].step, default=None)


def _draw_figures(
    sheet: Sheet, split: Split, counts: Counts, left: float, right: float, top: float
) -> float:
    """The plate in numbers, with words below each; returns the y below them."""
    grams = f"grams with {counts.spare_percent:g}% spare" if counts.spare_percent else "grams"
    figures = [
        (f"{counts.beads:,}", "beads"),
        (str(len(counts.colours)), "colour" if len(counts.colours) == 1 else "colours"),
        _boards(split),
        (f"{counts.grams:,.0f}", grams),
        (counts.effort.number, counts.effort.words),
    ]
    step, most = (right - left) / len(figures), 0
    for place, (number, what) in enumerate(figures):
        x = left + place * step
        sheet.text(x, top, number, 20, bold=True)
        lines = sheet.wrap(what, 9, step - 3)
        for line, words in enumerate(lines):
            sheet.text(x, top + 5.5 + 4.2 * line, words, 9, colour=QUIET)
        most = max(most, len(lines))
    return top + 5.5 + 4.2 * most


def _boards(split: Split) -> tuple[str, str]:
    """How many boards, of which sizes."""
    if split.boards:
        used = Counter(f"{across} x {down}" for across, down in split.boards)
        return str(len(split.boards)), "boards: " + ", ".join(
            f"{n} of {s}" for s, n in used.items()
        )
    columns, rows = split.map_size
    return f"{columns} x {rows}", f"boards of {split.board[0]} x {split.board[1]} pegs"


def _notes(
    split: Split, printing: Printing, plate: Plate, empty: frozenset[str], *, has_map: bool
) -> list[str]:
    """What else to know before printing."""
    way = (
        "The front faces down on the boards: boards and their pages are mirrored."
        if printing.mirrored
        else "The front faces up: nothing is mirrored."
    )
    maps = "" if has_map or len(split.tiles) == 1 else "board map, "
    notes = [
        f"Pitch {plate.palette.pitch_mm:g} mm, palette {plate.palette.name}.",
        way,
        f"In this file: {maps}all boards at true scale, count sheet, how to press.",
        "Print at 100% (no 'fit to page'), then measure the 100 mm rulers on any board's page.",
    ]
    if has_map:
        notes.insert(2, f"Map: {map_words(printing)} A seam's number is on both boards' pages.")
    if printing.is_corrected:
        short, long = printing.measured_mm
        notes.append(
            f"Corrected for a printer that prints 100 mm as {short:g} mm along the short side of"
            f" the paper and {long:g} mm along the long side."
        )
    if empty:
        notes.append("Boards without any bead have no page.")
    return notes
