"""Plates that are the same once they are pressed, perhaps turned: built from one sheet."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from img2plate.solid.piece import Piece


def equal_plates(pieces: Sequence[Piece]) -> tuple[tuple[int, ...], ...]:
    """Numbers of the plates from 0, those together that are equal, each group by its first plate.

    Equal are plates of one thickness whose cells are the same in one of four rotations. A plate
    turned over is its mirror image, and another plate: its other side is the pressed one.
    """
    groups: dict[tuple[float, tuple[int, int], bytes], list[int]] = {}
    for number, piece in enumerate(pieces):
        turned = (np.rot90(piece.plate.cells, times) for times in range(4))
        shape, cells = min((cells.shape, cells.tobytes()) for cells in turned)
        key = (round(piece.thickness_mm, 6), (shape[0], shape[1]), cells)
        groups.setdefault(key, []).append(number)
    return tuple(tuple(group) for group in groups.values())


def first_of(groups: Sequence[Sequence[int]]) -> dict[int, int]:
    """For each plate that is equal to an earlier one, that one."""
    return {number: group[0] for group in groups for number in group[1:]}
