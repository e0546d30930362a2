"""Rounds as a person wants them: `A1,A2/B1,B2` is A1 and A2 first, then B1 and B2."""

from __future__ import annotations

import re
from collections import Counter

import numpy as np

from img2plate.base.errors import OptionError
from img2plate.plate.plate import Plate
from img2plate.split.rounds import Round, with_seams
from img2plate.split.tiles import Split

Names = tuple[tuple[str, ...], ...]
"""Of boards, round by round."""
PATTERN = re.compile(r"[A-Z]+\d+(?:,[A-Z]+\d+)*(?:/[A-Z]+\d+(?:,[A-Z]+\d+)*)*")


def parse_rounds(text: str) -> Names:
    """Names of boards, round by round. Raises OptionError for what is written otherwise."""
    plain = re.sub(r"\s", "", text).upper()
    if not PATTERN.fullmatch(plain):
        raise OptionError(
            "is not boards as in A1,A2/B1,B2",
            field="rounds",
            value=text,
            remedy="write the boards of a round with commas, a slash before the next round",
        )
    return tuple(tuple(names.split(",")) for names in plain.split("/"))


def placed_rounds(
    plate: Plate, split: Split, groups: Names, owned: int | None
) -> tuple[Round, ...]:
    """Group the tiles that hold beads as `groups` says, in its order.

    Boards without beads are left out. Raises OptionError for boards that are not there, that are
    missing or named twice, and for rounds of more boards than are owned.
    """
    tiles = {tile.name: tile for tile in split.tiles}
    filled = {name for name, tile in tiles.items() if np.any(tile.of(plate.cells) >= 0)}
    _check_names(groups, set(tiles), filled)
    kept = [[tiles[name] for name in group if name in filled] for group in groups]
    for number, group in enumerate(filter(None, kept), 1):
        if owned is not None and len(group) > owned:
            raise OptionError(
                f"round {number} takes {len(group)} boards, and you own {owned}",
                field="rounds",
                remedy="move some to another round",
            )
    return with_seams([group for group in kept if group], split)


def _check_names(groups: Names, there: set[str], filled: set[str]) -> None:
    """Each board with beads once, and no others. Raises OptionError."""
    named = Counter(name for group in groups for name in group)
    strange = sorted(set(named) - there)
    twice = sorted(name for name, times in named.items() if times > 1)
    missing = sorted(filled - set(named))
    for names, what in (
        (strange, "the plate has no board {}"),
        (twice, "board {} is named twice"),
        (missing, "board {} is in no round"),
    ):
        if names:
            raise OptionError(
                what.format(names[0]), field="rounds", remedy="name each board with beads once"
            )
