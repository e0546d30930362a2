"""Which plates of a figure lie on which board and page, and what is laid at one time.

Plates are pressed one by one, and nothing of one hangs on another's board: boards are taken in the
order of their pages, as many at a time as there are. Equal plates are laid from one page, again and
again.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property, partial
from typing import NamedTuple

import numpy as np

from img2plate.base.errors import OptionError
from img2plate.base.words import many
from img2plate.plate.plate import Plate
from img2plate.solid.box.build import Figure
from img2plate.solid.equal import equal_plates
from img2plate.split.cuts import SMALLEST_TILE
from img2plate.split.tiles import Split
from img2plate.typeset.figure.boards import Lying, cut_plate, share_boards
from img2plate.typeset.sheets.geometry import Page, turn
from img2plate.typeset.sheets.printing import Printing

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


@dataclass(frozen=True, eq=False)
class Plan:
    """On which boards a figure's plates lie, on which pages, and when."""

    board: tuple[int, int]
    """Pegs of one board."""
    boards: Boards
    """Plates that share one, or one that is by itself; of equal plates the first."""
    cutter: Callable[[Plate], Split]
    """What cuts a plate that is by itself over boards."""
    page: Page
    printing: Printing
    rounds: tuple[FigureRound, ...] = ()
    """What is laid at one time; none when all boards are at hand."""

    @cached_property
    def numbers(self) -> dict[int, int]:
        """For each plate that shares a board, the number that stands on its page, from 1."""
        shared = (lying for lying in self.boards if len(lying) > 1)
        return {at.number: number for number, lying in enumerate(shared, 1) for at in lying}


def plan_figure(
    figure: Figure,
    printing: Printing,
    *,
    board: tuple[int, int],
    seams: str = "full",
    smallest: int = SMALLEST_TILE,
    owned: int | None = None,
) -> Plan:
    """How a figure is laid out; with so many boards `owned`, in rounds.

    smallest: pegs that a tile of a larger plate keeps.

    Raises OptionError when the pitch is too large for the paper, no board is owned, or a plate
    takes more of them by itself.
    """
    page = turn([board], figure.spec.palette.pitch_mm, printing)
    room = min(board[0], page.pegs_across), min(board[1], page.pegs_down)
    firsts = [group[0] for group in equal_plates(figure.pieces)]
    boards = share_boards(figure.pieces, firsts, room, page.pitch)
    cutter = partial(cut_plate, board=board, seams=seams, smallest=smallest)
    plan = Plan(board, boards, cutter, page, printing)
    return plan if owned is None else replace(plan, rounds=_rounds(figure, plan, owned))


def _rounds(figure: Figure, plan: Plan, owned: int) -> tuple[FigureRound, ...]:
    """Rounds of at most `owned` boards; none when all can be laid at once."""
    if owned < 1:
        raise OptionError(
            "is not a number of boards", field="boards_owned", value=owned, remedy="give at least 1"
        )
    rounds: list[list[Laying]] = [[]]
    for laying in _layings(figure, plan):
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


def _layings(figure: Figure, plan: Plan) -> list[Laying]:
    """Each page as often as the plate on it that is made most often."""
    equal = {group[0]: group for group in equal_plates(figure.pieces)}
    found = []
    for lying in plan.boards:
        is_alone, number = len(lying) == 1, plan.numbers.get(lying[0].number, 0)
        first = figure.pieces[lying[0].number].plate
        taken = _boards_under(first, plan.cutter) if is_alone else 1
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
    return f"{len(rounds)} rounds on {on_boards(rounds)}; first {first}{more}, then see sheets.pdf"


def on_boards(rounds: tuple[FigureRound, ...]) -> str:
    """So many boards all rounds take."""
    return many(max(sum(laid.boards for laid in each.laid) for each in rounds), "board")
