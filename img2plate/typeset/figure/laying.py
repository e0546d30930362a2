"""Which boards of a figure are laid at one time, when so many are owned.

Plates are pressed one by one, and nothing of one hangs on another's board: boards are taken in the
order of their pages, as many at a time as there are. Equal plates are laid from one page, again and
again.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from img2plate.base.errors import OptionError
from img2plate.base.lengths import Paper
from img2plate.base.words import many
from img2plate.plate.plate import Plate
from img2plate.solid.box.build import Figure
from img2plate.solid.equal import equal_plates
from img2plate.split.tiles import Split
from img2plate.typeset.figure.boards import Lying, share_boards
from img2plate.typeset.look import HEADING, QUIET
from img2plate.typeset.sheets.geometry import FOOT, Page, turn
from img2plate.typeset.sheets.printing import MARGIN, Printing
from img2plate.typeset.sheets.sheet import Sheet

_TOP, _LINE, _TITLE = 40.0, 4.9, 7.0
Boards = Sequence[tuple[Lying, ...]]


class Laying(NamedTuple):
    """What is laid from one page at one time."""

    name: str
    """As its page is headed, with the plates."""
    plates: tuple[int, ...]
    """Their numbers from 0."""
    boards: int
    """So many it takes."""


@dataclass(frozen=True)
class FigureRound:
    """What lies on boards at the same time."""

    number: int
    """From 1."""
    laid: tuple[Laying, ...]

    @property
    def plates(self) -> tuple[int, ...]:
        """Numbers of its plates from 0."""
        return tuple(number for each in self.laid for number in each.plates)


def plan_boards(
    figure: Figure, board: tuple[int, int], printing: Printing
) -> tuple[Page, list[tuple[Lying, ...]]]:
    """How the paper is turned for boards, and which plates share one; of equal ones the first.

    Raises OptionError when the pitch is too large for the paper.
    """
    page = turn([board], figure.spec.palette.pitch_mm, printing)
    room = min(board[0], page.pegs_across), min(board[1], page.pegs_down)
    firsts = [group[0] for group in equal_plates(figure.pieces)]
    return page, share_boards(figure.pieces, firsts, room, page.pitch)


def board_numbers(boards: Boards) -> dict[int, int]:
    """For each plate that shares a board, the number that stands on its page, from 1."""
    shared = (lying for lying in boards if len(lying) > 1)
    return {at.number: number for number, lying in enumerate(shared, 1) for at in lying}


def plan_laying(
    figure: Figure, boards: Boards, cutter: Callable[[Plate], Split], owned: int
) -> tuple[FigureRound, ...]:
    """Rounds of at most `owned` boards; none when all can be laid at once.

    Raises OptionError when no board is owned, or a plate takes more of them by itself.
    """
    if owned < 1:
        raise OptionError(
            "is not a number of boards", field="boards_owned", value=owned, remedy="give at least 1"
        )
    rounds: list[list[Laying]] = [[]]
    for laying in _layings(figure, boards, cutter):
        if laying.boards > owned:
            raise OptionError(
                f"{laying.name} takes {laying.boards} boards at once, and you own {owned}",
                field="boards_owned",
                remedy="a plate of a figure is laid in one go: own more, or larger ones (`board`)",
            )
        if sum(each.boards for each in rounds[-1]) + laying.boards > owned:
            rounds.append([])
        rounds[-1].append(laying)
    if len(rounds) == 1:
        return ()
    return tuple(FigureRound(number, tuple(laid)) for number, laid in enumerate(rounds, 1))


def _layings(figure: Figure, boards: Boards, cutter: Callable[[Plate], Split]) -> list[Laying]:
    """Each page as often as the plate on it that is made most often."""
    equal = {group[0]: group for group in equal_plates(figure.pieces)}
    found, numbers = [], board_numbers(boards)
    for lying in boards:
        is_alone, number = len(lying) == 1, numbers.get(lying[0].number, 0)
        first = figure.pieces[lying[0].number].plate
        taken = _boards_under(first, cutter) if is_alone else 1
        copies = [equal[at.number] for at in lying]
        for time in range(max(map(len, copies))):
            plates = tuple(same[time] for same in copies if time < len(same))
            name = _name(figure, number, time, is_alone, plates)
            found.append(Laying(name, plates, taken))
    return found


def _boards_under(plate: Plate, cutter: Callable[[Plate], Split]) -> int:
    """Boards with beads of a plate that has them for itself."""
    return sum(bool(np.any(tile.of(plate.cells) >= 0)) for tile in cutter(plate).tiles)


def _name(figure: Figure, number: int, time: int, is_alone: bool, plates: Sequence[int]) -> str:
    """`board 3 (plates 4, 9)`, `board 3 again (plate 5)`, or `plate 7 (low top)`."""
    if is_alone:
        return f"plate {plates[0] + 1} ({figure.pieces[plates[0]].title})"
    numbers = ", ".join(str(plate + 1) for plate in plates)
    again = " again" if time else ""
    return f"board {number}{again} ({'plate' if len(plates) == 1 else 'plates'} {numbers})"


def round_words(rounds: tuple[FigureRound, ...]) -> str:
    """In how many rounds a figure is laid, for people."""
    first = " and ".join(each.name for each in rounds[0].laid[:2])
    more = "" if len(rounds[0].laid) <= 2 else " and more"
    return f"{len(rounds)} rounds on {_on(rounds)}; first {first}{more}, then see sheets.pdf"


def _on(rounds: tuple[FigureRound, ...]) -> str:
    """So many boards all rounds take."""
    return many(max(sum(laid.boards for laid in each.laid) for each in rounds), "board")


def draw_laying(sheet: Sheet, paper: Paper, rounds: tuple[FigureRound, ...]) -> None:
    """What is laid in each round, on as many pages as that needs."""
    left, end = MARGIN + 8, paper.height_mm - MARGIN - FOOT
    y = end
    for each in rounds:
        lines = [line for laid in each.laid for line in _lines(sheet, paper, laid)]
        high = _TITLE + _LINE * len(lines) + 3
        if y + high > end:
            if each.number > 1:
                sheet.end()
            _start(sheet, paper, rounds)
            y = _TOP
        sheet.text(left, y, f"Round {each.number}", 14, bold=True, colour=HEADING)
        for number, line in enumerate(lines):
            sheet.text(left + 4, y + _TITLE + number * _LINE, line, 10)
        y += high
    sheet.end()


def _start(sheet: Sheet, paper: Paper, rounds: tuple[FigureRound, ...]) -> None:
    """Title of a page."""
    sheet.start(paper.width_mm, paper.height_mm)
    sheet.bookmark("Rounds")
    title = f"{len(rounds)} rounds on {_on(rounds)}"
    sheet.text(MARGIN + 8, MARGIN + 12, title, 20, bold=True, colour=HEADING)
    said = "Lay and press what stands in a round; then its boards are free for the next."
    sheet.text(MARGIN + 8, MARGIN + 19, said, 10, colour=QUIET)


def _lines(sheet: Sheet, paper: Paper, laid: Laying) -> list[str]:
    """Name of what is laid, and its boards where it takes several."""
    words = laid.name + (f", on {laid.boards} boards" if laid.boards > 1 else "")
    return sheet.wrap(words[0].upper() + words[1:], 10, paper.width_mm - 2 * MARGIN - 24)
