"""In which order to build on the boards at hand, and what to tape before a board is freed."""

from __future__ import annotations

from img2plate.split.rounds import Round
from img2plate.split.tiles import Seam, Tile
from img2plate.typeset.look import ACCENT, HEADING, INK, QUIET, RULE
from img2plate.typeset.sheets.geometry import FOOT
from img2plate.typeset.sheets.job import Job
from img2plate.typeset.sheets.printing import MARGIN
from img2plate.typeset.sheets.sheet import Sheet

_TOP = 44.0
_MAP = 40.0
_LINE = 4.9


def draw_rounds_pages(sheet: Sheet, job: Job, rounds: tuple[Round, ...]) -> None:
    """One block a round: a small map, what to build, what to tape."""
    paper, left = job.printing.paper, MARGIN + 8
    width = paper.width_mm - 2 * left - _MAP - 8
    y = paper.height_mm
    for each in rounds:
        lines = [line for words in _words(job, each) for line in _wrapped(sheet, words, width)]
        high = max(_map_size(job)[1] + 8, _LINE * len(lines) + 10)
        if y + high > paper.height_mm - MARGIN - FOOT:
            if each.number > 1:
                sheet.end()
            _start_page(sheet, job, rounds)
            y = _TOP
        _draw_map(sheet, job, rounds, each, left, y)
        sheet.text(left + _MAP + 8, y + 4, f"Round {each.number}", 14, bold=True,
                   colour=HEADING)  # fmt: skip
        for number, (line, colour) in enumerate(lines):
            sheet.text(left + _MAP + 8, y + 10.5 + number * _LINE, line, 10, colour=colour)
        y += high + 5
        sheet.line(left, y - 3, paper.width_mm - left, y - 3, 0.1, RULE)
    sheet.end()


def _start_page(sheet: Sheet, job: Job, rounds: tuple[Round, ...]) -> None:
    """Title, and how tape is left hanging over."""
    paper, left = job.printing.paper, MARGIN + 8
    boards = max(len(each.tiles) for each in rounds)
    sheet.start(paper.width_mm, paper.height_mm)
    several = "board" if boards == 1 else "boards"
    sheet.bookmark("Rounds")
    sheet.text(left, MARGIN + 12, f"{len(rounds)} rounds on {boards} {several}", 20, bold=True,
               colour=HEADING)  # fmt: skip
    for number, line in enumerate(
        (
            "Cover a round's beads with masking tape before you lift it off. A flap is tape that"
            " hangs over a seam by",
            "about 3 cm, sticky side down on baking paper: the next round is laid against it, and"
            " the flap closes the seam.",
        )
    ):
        sheet.text(left, MARGIN + 19 + number * _LINE, line, 10, colour=QUIET)


def _words(job: Job, each: Round) -> list[tuple[str, str]]:
    """What to do in a round, with the colour of each paragraph."""
    order = ", in this order" if len(each.tiles) > 1 else ""
    words = [(f"Build {_names(each.tiles)}{order}.", INK)]
    if each.joining:
        words.append(
            (
                f"Lay it against what is built, and close with the flaps: {_seams(each.joining)}.",
                INK,
            )
        )
    edge_to_edge = [seam for seam in each.inner if job.split.is_edge_to_edge(seam)]
    apart = [seam for seam in each.inner if not job.split.is_edge_to_edge(seam)]
    if edge_to_edge:
        words.append((f"Tape across, boards edge to edge: {_seams(edge_to_edge)}.", INK))
    if apart:
        words.append(
            (
                f"Pegs stay free there; lift off, push edge to edge, tape across: {_seams(apart)}.",
                INK,
            )
        )
    if each.open:
        words.append((f"Before you free the boards, leave a flap at {_seams(each.open)}.", ACCENT))
    else:
        words.append(("Then all boards are free.", INK))
    return words


def _names(tiles: tuple[Tile, ...]) -> str:
    """Names in order."""
    return ", ".join(tile.name for tile in tiles)


def _seams(seams: tuple[Seam, ...] | list[Seam]) -> str:
    """Seams with the boards that they join."""
    several = "seams" if len(seams) > 1 else "seam"
    return f"{several} " + ", ".join(
        f"{seam.number} ({seam.first.name}-{seam.second.name})" for seam in seams
    )


def _wrapped(sheet: Sheet, words: tuple[str, str], width: float) -> list[tuple[str, str]]:
    """Lines of a paragraph, each with its colour."""
    return [(line, words[1]) for line in sheet.wrap(words[0], 10, width)]


def _map_size(job: Job) -> tuple[float, float, float]:
    """Width and height of the small map, and a tile's side."""
    columns, rows = job.split.map_size
    box = min(9.0, _MAP / columns, 60.0 / rows)
    return columns * box, rows * box, box


def _draw_map(
    sheet: Sheet, job: Job, rounds: tuple[Round, ...], each: Round, left: float, top: float
) -> None:
    """This round dark with its order, earlier rounds grey, later ones empty."""
    columns, rows = job.split.map_size
    wide, high, box = _map_size(job)
    # Boards of several sizes are drawn as if of one: their names say which is which.

    def corner(tile: Tile) -> tuple[float, float]:
        column = columns - 1 - tile.column if job.printing.mirrored else tile.column
        return left + column * box, top + tile.row * box

    for earlier in rounds[: each.number - 1]:
        sheet.boxes([(*corner(tile), box, box) for tile in earlier.tiles], RULE)
    sheet.boxes([(*corner(tile), box, box) for tile in each.tiles], INK)
    sheet.lines(
        [(left, top + r * box, left + wide, top + r * box) for r in range(rows + 1)]
        + [(left + c * box, top, left + c * box, top + high) for c in range(columns + 1)],
        0.15,
        QUIET,
    )
    letters = min(10.0, box * 1.6)
    if letters < 4:
        return
    for number, tile in enumerate(each.tiles, 1):
        x, y = corner(tile)
        sheet.text(x + box / 2, y + box / 2 + letters * 0.12, str(number), letters, bold=True,
                   colour="#ffffff", align="middle")  # fmt: skip
