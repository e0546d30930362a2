"""Where a plate that slopes and another one meet: cells on the line in which their layers cross."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from img2plate.solid.piece import Piece

REACH = 0.8
"""Beads from the line up to which a cell lies on it: a ridge may stand off by a part of a bead."""
_PARALLEL = 1e-3
_SAME = 1e-6
OnPlate = tuple[NDArray[np.int64], NDArray[np.int64]]
"""Rows and columns."""


def on_line(piece: Piece, other: Piece) -> OnPlate:
    """Cells of a plate, empty ones too, on the line with another; only as far as that reaches."""
    far = _from_line(piece, other)
    if far is None:
        return np.zeros(0, np.int64), np.zeros(0, np.int64)
    along = np.cross(piece.normal, other.normal)
    ends = (other.in_figure(other.voxels + 0.5) @ along).tolist()
    here = _middles(piece) @ along
    near = (here >= min(ends) - _SAME) & (here <= max(ends) + _SAME)
    least = np.min(far[near], initial=np.inf)
    rows, columns = np.nonzero(near & (far <= min(REACH, least + _SAME)))
    return rows, columns


def touch(one: Piece, two: Piece) -> bool:
    """Whether both have beads on that line that are next to each other."""
    mine, theirs = _spots(one, two), -_spots(two, one)
    gaps = np.abs(mine[:, None] - theirs[None])
    return bool(((gaps > 0.4) & (gaps < 1.6)).any())


def _spots(piece: Piece, other: Piece) -> NDArray[np.float64]:
    """(n,) how far along the line beads of a plate lie on it; the other way round for the other."""
    far = _from_line(piece, other)
    if far is None:
        return np.zeros(0)
    along = np.cross(piece.normal, other.normal)
    on_line = piece.plate.filled & (far <= REACH)
    return np.asarray((_middles(piece) @ along)[on_line] / np.linalg.norm(along))


def _from_line(piece: Piece, other: Piece) -> NDArray[np.float64] | None:
    """(h, w) how far each cell is from the other's middle layer, within its own; None: never."""
    aslant = float(np.linalg.norm(np.cross(piece.normal, other.normal)))
    if aslant < _PARALLEL:
        return None
    level = other.in_figure(other.voxels[0] + 0.5)
    return np.abs((_middles(piece) - level) @ other.normal) / aslant


def _middles(piece: Piece) -> NDArray[np.float64]:
    """(h, w, 3) middles of all cells in the figure."""
    return piece.in_figure(np.stack(piece.places, axis=-1) + 0.5)


def met_by(
    piece: Piece, other: Piece, rows: NDArray[np.int64], columns: NDArray[np.int64]
) -> OnPlate:
    """Those of some cells on the line where the other plate has beads; all, if there are none."""
    along = np.cross(piece.normal, other.normal)
    here = _middles(piece)[rows, columns] @ along / np.linalg.norm(along)
    kept = (np.abs(here[:, None] + _spots(other, piece)[None]) < 0.5).any(axis=1)
    return (rows[kept], columns[kept]) if kept.any() else (rows, columns)
