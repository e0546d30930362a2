"""Names of boards and numbers of seams on a map: none hides another."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from img2plate.split.tiles import Seam, Split, Tile
from img2plate.typeset.look import ACCENT, INK, PAPER, QUIET
from img2plate.typeset.sheets.map_section import Box, Section
from img2plate.typeset.sheets.sheet import Sheet

_LARGEST, _LEAST = 14.0, 4.5
"""Points of a seam's number."""
_CAP = 0.24
"""Height of capitals in mm for each point, about."""
_PLACES = (0.5, 0.3, 0.7, 0.4, 0.6, 0.2, 0.8, 0.1, 0.9)
"""Where along its seam a number may stand, as shares of the length; the first that is clear."""


def name_boards(
    sheet: Sheet,
    section: Section,
    tiles: list[Tile],
    empty: frozenset[str],
    sizes: Mapping[Tile, tuple[int, int]],
) -> list[Box]:
    """Write names in the middle of tiles, quietly on those without beads; where they stand.

    sizes: of the boards, to be written too when they differ.
    """
    taken = []
    for tile in tiles:
        left, top, wide, high = section.box(tile)
        x, y = left + wide / 2, top + high / 2
        letters = min(32.0, wide * 1.1, high * 1.4)
        letters = max(6.0, letters / max(1.0, len(tile.name) / 2.5))
        colour = QUIET if tile.name in empty else INK
        sheet.text(x, y + letters * _CAP / 2, tile.name, letters, bold=True, colour=colour,
                   align="middle")  # fmt: skip
        long = sheet.text_width(tile.name, letters, bold=True)
        tall = letters * _CAP
        if tile.name in empty and high > tall + 12 and wide > 11:
            sheet.text(x, y + letters * _CAP / 2 + 4, "empty", min(10.0, letters), colour=QUIET,
                       align="middle")  # fmt: skip
            tall += 8
        elif sizes and high > tall + 12:
            across, down = sizes[tile]
            small = min(10.0, letters / 2)
            sheet.text(x, y + letters * _CAP / 2 + 4, f"{across} x {down}", small, align="middle")
            tall += 8
        taken.append((x - long / 2, y - tall / 2, long, tall))
    return taken


def number_seams(
    sheet: Sheet, section: Section, split: Split, names: list[Box], empty: frozenset[str]
) -> list[Box]:
    """Write each seam's number in a disc on its line, clear of the names; where they stand."""
    taken = list(names)
    for seam in split.seams:
        ends = seam.first, seam.second
        if any(tile.name in empty for tile in ends) or not any(map(section.holds, ends)):
            continue
        x, y, letters = _place(sheet, section, seam, taken)
        wide = _disc(sheet, str(seam.number), letters)
        taken.append((x - wide / 2, y - wide / 2, wide, wide))
        sheet.dots([(x, y)], wide, ACCENT)
        sheet.text(x, y + letters * _CAP / 2, str(seam.number), letters, bold=True, colour=PAPER,
                   align="middle")  # fmt: skip
    return taken[len(names) :]


def _disc(sheet: Sheet, words: str, letters: float) -> float:
    """Diameter of a disc that holds words."""
    return max(sheet.text_width(words, letters, bold=True) + 1, letters * 0.5)


def _place(
    sheet: Sheet, section: Section, seam: Seam, taken: list[Box]
) -> tuple[float, float, float]:
    """Middle and size of a seam's number: as large as is clear of all else, at the first place.

    Where nothing is clear, it is small and farthest from what stands there.
    """
    first, last = seam.span
    spots = []
    for share in _PLACES:
        along = first + share * (last + 1 - first)
        x = section.across(seam.at if seam.is_vertical else along)
        y = section.down(along if seam.is_vertical else seam.at)
        spots.append((x, y))
    for letters in (_LARGEST, 10.0, 8.0, 6.0, _LEAST):
        radius = _disc(sheet, str(seam.number), letters) / 2 + 0.2
        for x, y in spots:
            if _clearance(x, y, taken) >= radius:
                return x, y, letters
    return (*max(spots, key=lambda spot: _clearance(spot[0], spot[1], taken)), _LEAST)


def _clearance(x: float, y: float, taken: Iterable[Box]) -> float:
    """Distance from the nearest of some boxes, mm."""
    gaps = (
        (max(left - x, x - left - wide, 0.0), max(top - y, y - top - high, 0.0))
        for left, top, wide, high in taken
    )
    return min(((a * a + b * b) ** 0.5 for a, b in gaps), default=float("inf"))
