"""Plates as bodies of manifold3d, which knows nothing of ours: do they overlap, or on their way?"""

from __future__ import annotations

from itertools import groupby

import manifold3d
import numpy as np

from img2plate.solid.fit.model import FitModel
from img2plate.solid.piece import Piece


def pressed_blocks(piece: Piece, model: FitModel, squeezed: int) -> list[manifold3d.Manifold]:
    """A plate as blocks, a run of beads in each row: true thickness, true footprint.

    squeezed: the axis along which beads of a joint are held, where they are as wide as the pitch.
    """
    pitch, wide = model.pitch_mm, model.width_mm(piece.thickness_mm)
    made = []
    for row, line in enumerate(piece.plate.filled):
        for filled, run in groupby(enumerate(line), key=lambda cell: bool(cell[1])):
            columns = [column for column, _ in run]
            if not filled:
                continue
            ends = np.array([[a[row, c] for a in piece.places] for c in (columns[0], columns[-1])])
            middle = (ends[0] + ends[1] + 1) / 2
            size = abs(ends[1] - ends[0]) * pitch + wide
            size[piece.axis] = piece.thickness_mm
            if piece.axis != squeezed:
                size[squeezed] -= wide - pitch
            turn = np.eye(3)
            if piece.turn is not None:
                middle, turn = piece.turn.points(middle), piece.turn.matrix
            place = np.column_stack([turn, middle * pitch])
            made.append(manifold3d.Manifold.cube(size.tolist(), True).transform(place))
    return made


def whole(blocks: list[manifold3d.Manifold]) -> manifold3d.Manifold:
    """Blocks as one body."""
    return manifold3d.Manifold.batch_boolean(blocks, manifold3d.OpType.Add)


def swept(blocks: list[manifold3d.Manifold], way: np.ndarray) -> manifold3d.Manifold:
    """What blocks go through on a straight way, mm."""
    return whole([
        manifold3d.Manifold.batch_hull([block, block.translate(way.tolist())]) for block in blocks
    ])  # fmt: skip
