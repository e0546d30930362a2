"""Which colours a figure uses on all its plates, and which lie side by side once it is built."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from img2plate.plate.usage import Usage, borders, count_pairs
from img2plate.solid.box.build import Figure
from img2plate.solid.piece import Piece


def usage_of_figure(figure: Figure) -> Usage:
    """What a figure uses: beads side by side on a plate, and where two plates meet.

    Plates that lie back to back do not touch in this sense: nobody sees them together. Plates that
    slope touch none. Where a part stands against another, its border is counted twice: a head of
    one colour ends all round in the air, and what it has with the coat below is half of it at most.
    """
    palette = figure.spec.palette
    within, between = _where_plates_meet(
        [piece for piece in figure.pieces if piece.turn is None], len(palette)
    )
    for piece in figure.pieces:
        within += borders(piece.plate.cells, len(palette))
    border = within + between
    return Usage(palette, figure.counts(), border, (border + between).sum(axis=1))


def _where_plates_meet(
    pieces: Sequence[Piece], colours: int
) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """(n, n) how many beads of two colours lie side by side on two plates of a part, or of two."""
    within, between = np.zeros((2, colours, colours), np.int64)
    if not pieces:
        return within, between
    beads = [len(piece.voxels) for piece in pieces]
    number = np.repeat(np.arange(len(pieces)), beads)
    groups = list(dict.fromkeys(piece.group for piece in pieces))
    group = np.repeat([groups.index(piece.group) for piece in pieces], beads)
    normal = np.repeat([piece.axis for piece in pieces], beads)
    colour = np.concatenate([piece.plate.cells[piece.plate.filled] for piece in pieces])
    places = np.concatenate([piece.voxels for piece in pieces])
    places = places - places.min(axis=0)
    span = places.max(axis=0) + 2  # an empty place more, so that no row runs on into the next
    steps = np.array([span[1] * span[2], span[2], 1])
    key = places @ steps
    order = np.argsort(key)
    for axis, step in enumerate(steps.tolist()):
        found = np.searchsorted(key[order], key + step).clip(max=len(key) - 1)
        other = order[found]
        back_to_back = (normal == axis) & (normal[other] == axis)
        meet = (key[other] == key + step) & (number != number[other]) & ~back_to_back
        for counted, same in ((within, True), (between, False)):
            these = meet & ((group == group[other]) == same)
            counted += count_pairs(colour[these], colour[other[these]], colours)
    return within, between
