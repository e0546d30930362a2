"""What stands round the cells of a tile page: grid, numbers, registration marks, rulers.

All marks stay outside the cells, in a band: numbers nearest, then the seams' ticks with the seam's
number and the peg that they mark, in whole-plate coordinates, so that both pages of a seam say the
same. What shows where the board goes is in `board_marks`.
"""

from __future__ import annotations

from collections import Counter

from img2plate.base.printer import RULER_MM
from img2plate.split.marks import Mark, marks_of
from img2plate.split.tiles import Split
from img2plate.typeset.look import ACCENT, INK, PAPER, QUIET, RULE
from img2plate.typeset.sheets.board_marks import SIDES
from img2plate.typeset.sheets.geometry import BAND, OVERLAP, Join, Page, Part
from img2plate.typeset.sheets.printing import Printing
from img2plate.typeset.sheets.sheet import Sheet

HEAVY_EVERY = 10
"""Pegs between heavier lines, counted from the plate's corner."""
NUMBER_EVERY = 5
TICK = 8.5
"""Length of a seam's tick, mm."""
_NUMBERS = 3.8
"""Depth of the numbers' strip, mm: where a tick must not touch a number it starts beyond."""
_ROOMY = 90.0
"""Length of an edge, mm, from which more than its neighbour's name fits."""


def draw_edges(
    sheet: Sheet,
    page: Page,
    part: Part,
    split: Split,
    middles: dict[str, tuple[float, float]],
    *,
    empty: frozenset[str] = frozenset(),
) -> list[tuple[float, float]]:
    """Draw all that stands round a part's cells, and the grid over them; where seams are marked.

    middles: marks of the board on the cells' edges, to keep clear of. `empty` names the tiles
    without beads, which have no page to be laid against.
    """
    _draw_grid(sheet, page, part)
    _draw_numbers(sheet, page, part)
    marks = [
        mark
        for mark in marks_of(split, part.tile)
        if part.touches(mark.edge) and mark.neighbour not in empty
    ]
    on_seam = Counter(mark.seam for mark in marks)
    for mark in marks:
        _draw_mark(sheet, page, part, mark, named=on_seam[mark.seam] == 1)
    for join in part.joins():
        _draw_join(sheet, page, part, join)
    _name_neighbours(sheet, page, part, marks, middles)
    places = (_on_edge(page, part, part.printed_edge(mark.edge), mark.peg) for mark in marks)
    return [place for place in places if place]


def _ends(page: Page, part: Part) -> tuple[float, float]:
    """Right and lower edge of the cells."""
    return page.left + part.width * page.pitch, page.top + part.height * page.pitch


def _draw_grid(sheet: Sheet, page: Page, part: Part) -> None:
    """Hairlines round cells; heavier every ten pegs of the whole plate, and round the part."""
    right, bottom = _ends(page, part)
    across = [page.left + i * page.pitch for i in range(part.width + 1)]
    down = [page.top + i * page.pitch for i in range(part.height + 1)]
    sheet.lines(
        [(x, page.top, x, bottom) for x in across] + [(page.left, y, right, y) for y in down],
        0.1,
        RULE,
    )
    lines = [part.x + (part.width - i if part.mirrored else i) for i in range(part.width + 1)]
    heavy = [(x, page.top, x, bottom) for x, peg in zip(across, lines, strict=True)
             if peg % HEAVY_EVERY == 0]  # fmt: skip
    heavy += [(page.left, y, right, y) for i, y in enumerate(down)
              if (part.y + i) % HEAVY_EVERY == 0]  # fmt: skip
    heavy += [(x, page.top, x, bottom) for x in (page.left, right)]
    heavy += [(page.left, y, right, y) for y in (page.top, bottom)]
    # On white, as ink alone is lost between dark cells.
    sheet.lines(heavy, min(0.6, page.pitch * 0.15), PAPER)
    sheet.lines(heavy, 0.3, INK)


def _draw_numbers(sheet: Sheet, page: Page, part: Part) -> None:
    """Whole-plate peg numbers on all four sides; on a mirrored sheet columns run leftwards."""
    right, bottom = _ends(page, part)
    for i in _numbered(part.x, part.width):
        x = page.left + (part.place_of(part.x + i) + 0.5) * page.pitch
        for y in (page.top - 1.2, bottom + 3.6):
            sheet.text(x, y, str(part.x + i + 1), 8, align="middle")
    for i in _numbered(part.y, part.height):
        y = page.top + (i + 0.5) * page.pitch + 1.0
        sheet.text(page.left - 1.2, y, str(part.y + i + 1), 8, align="right")
        sheet.text(right + 1.2, y, str(part.y + i + 1), 8)


def _numbered(first: int, count: int) -> list[int]:
    """Offsets that carry a number: every fifth peg of the plate, and the first of the part."""
    fifth = [i for i in range(count) if (first + i + 1) % NUMBER_EVERY == 0]
    return fifth if fifth and fifth[0] < 2 else [0, *fifth]


def _on_edge(page: Page, part: Part, edge: str, peg: float) -> tuple[float, float] | None:
    """Place on a printed edge of the middle of a peg of the plate; None when not on this part."""
    right, bottom = _ends(page, part)
    if edge in ("left", "right"):
        place, length = peg - part.y, part.height
        where = right if edge == "right" else page.left, page.top + (place + 0.5) * page.pitch
    else:
        place, length = part.place_of(peg), part.width
        where = page.left + (place + 0.5) * page.pitch, bottom if edge == "bottom" else page.top
    return where if -0.5 <= place <= length - 0.5 else None


def _draw_mark(sheet: Sheet, page: Page, part: Part, mark: Mark, *, named: bool) -> None:
    """A seam's tick: its number on one side of the line, the peg's on the other.

    `named` when there is no room on the edge but here for the neighbour's name.
    """
    edge = part.printed_edge(mark.edge)
    place = _on_edge(page, part, edge, mark.peg)
    if place is None:
        return
    (x, y), (dx, dy) = place, SIDES[edge]
    sheet.line(x, y, x + dx * TICK, y + dy * TICK, 0.35, ACCENT)
    seam = f"{mark.seam} {mark.neighbour}" if named else str(mark.seam)
    peg = str(mark.peg + 1)
    if dx:
        align = "right" if dx < 0 else "left"
        sheet.text(x + dx * 5.6, y - 0.9, seam, 10, bold=True, colour=ACCENT, align=align)
        sheet.text(x + dx * 5.6, y + 3.2, peg, 8, colour=ACCENT, align=align)
    else:
        at = y - 5.4 if dy < 0 else y + 8.0
        sheet.text(x + 0.9, at, seam, 10, bold=True, colour=ACCENT)
        sheet.text(x - 0.9, at, peg, 8, colour=ACCENT, align="right")


def _length(page: Page, part: Part, edge: str) -> float:
    """Length of an edge of a part, mm."""
    return (part.height if edge in ("left", "right") else part.width) * page.pitch


def _name_neighbours(
    sheet: Sheet,
    page: Page,
    part: Part,
    marks: list[Mark],
    middles: dict[str, tuple[float, float]],
) -> None:
    """Say on each edge which tile touches it, or which page of this tile goes on there."""
    sides = {(mark.edge, mark.neighbour): "touches " for mark in marks}
    sides |= {(join.edge, f"page {join.other}"): "continues: " for join in part.joins()}
    on_edge = Counter(edge for edge, _ in sides)
    right, bottom = _ends(page, part)
    for (edge_of_plate, name), said in sides.items():
        edge = part.printed_edge(edge_of_plate)
        upright, length = edge in ("left", "right"), _length(page, part, edge)
        own = [m for m in marks if (m.edge, m.neighbour) == (edge_of_plate, name)]
        on = [place for mark in own if (place := _on_edge(page, part, edge, mark.peg))]
        if len(own) == 1:
            continue  # the mark says it
        taken = [place[upright] for place in (*on, middles.get(edge)) if place]
        start = page.top if upright else page.left
        if on_edge[edge_of_plate] > 1 and on:  # beside another one: between its own marks
            start, length = taken[0], taken[len(on) - 1] - taken[0]
            start, length = min(start, start + length), abs(length)
        at = start + _clear_place([t - start for t in taken], length)
        words = (said if length >= _ROOMY else "") + name
        if upright:
            x, degrees = (page.left - 6.2, 90) if edge == "left" else (right + 6.2, -90)
            sheet.turned_text(x, at, words, 10, degrees=degrees, colour=ACCENT)
        else:
            y = page.top - 5.2 if edge == "top" else bottom + 8.0
            sheet.text(at, y, words, 10, colour=ACCENT, align="middle")


def _clear_place(taken: list[float], length: float) -> float:
    """Place along an edge that is far from what stands there; all in mm from its start."""
    places = [length * share / 40 for share in range(6, 35)]
    return max(places, key=lambda at: min((abs(at - t) for t in taken), default=0.0))


def _draw_join(sheet: Sheet, page: Page, part: Part, join: Join) -> None:
    """Ticks at both ends of the line on which two pages of a tile are laid over each other."""
    right, bottom = _ends(page, part)
    half = OVERLAP / 2
    if join.edge in ("left", "right"):
        column = part.x + half if join.edge == "left" else part.x + part.width - half
        x = page.left + (part.place_of(column) + (1 if part.mirrored else 0)) * page.pitch
        ends = [(x, page.top, 0, -1), (x, bottom, 0, 1)]
    else:
        y = page.top + (half if join.edge == "top" else part.height - half) * page.pitch
        ends = [(page.left, y, -1, 0), (right, y, 1, 0)]
    for x, y, dx, dy in ends:
        start = x + dx * _NUMBERS, y + dy * _NUMBERS
        sheet.line(*start, x + dx * TICK, y + dy * TICK, 0.35, ACCENT)
        align = {-1: "right", 0: "middle", 1: "left"}[dx]
        at = (
            (x + dx * (TICK + 0.6), y + 1.1)
            if dx
            else (x, y + dy * (TICK + (0.6 if dy < 0 else 3)))
        )
        sheet.text(*at, join.name, 8, bold=True, colour=ACCENT, align=align)


def draw_rulers(sheet: Sheet, page: Page, bottom: float, printing: Printing) -> None:
    """100 mm both ways, with a tick every 10 mm: print at 100%, then measure.

    bottom: lower edge of what lies on the page.
    """
    x, y = page.left, bottom + BAND + 3
    ticks = [(x + mm, y, x + mm, y + (3 if mm % 50 == 0 else 1.8)) for mm in range(0, 101, 10)]
    sheet.lines([(x, y, x + RULER_MM, y), *ticks], 0.2, INK)
    long_across = page.width > page.height
    words = f"{'long' if long_across else 'short'} side: 100 mm. Print at 100%, measure it."
    if printing.is_corrected:
        short, long = printing.measured_mm
        words = f"corrected for a printer at {short:g} x {long:g} mm: measure it"
    sheet.text(x + RULER_MM + 2, y + 2.6, words, 8, colour=QUIET)
    x, y = page.margin + 4, page.top
    ticks = [(x, y + mm, x - (3 if mm % 50 == 0 else 1.8), y + mm) for mm in range(0, 101, 10)]
    sheet.lines([(x, y, x, y + RULER_MM), *ticks], 0.2, INK)
    side = "short" if long_across else "long"
    sheet.turned_text(x + 2.8, y + 50, f"{side} side: 100 mm", 8, degrees=90, colour=QUIET)
