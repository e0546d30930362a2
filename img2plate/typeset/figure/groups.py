"""Parts and joins of a figure as sub-assemblies; equal ones are built once."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from img2plate.solid.box.build import Figure
from img2plate.solid.piece import Piece


@dataclass(frozen=True, eq=False)
class Group:
    """A part or join with its plates, and the names of those equal to it."""

    name: str
    pieces: tuple[Piece, ...]
    equals: tuple[str, ...] = ()

    @property
    def words(self) -> str:
        """Its name, and how many to make."""
        if not self.equals:
            return self.name
        return f"{self.name} (make {len(self.equals) + 1}: also {', '.join(self.equals)})"


def groups_of(figure: Figure) -> tuple[Group, ...]:
    """All groups in the order of the plates; those equal but for their place under the first."""
    members: dict[str, list[Piece]] = {}
    for piece in figure.pieces:
        members.setdefault(piece.group, []).append(piece)
    alike: dict[tuple[object, ...], list[str]] = {}
    for name, pieces in members.items():
        alike.setdefault(_key(pieces), []).append(name)
    return tuple(
        Group(first, tuple(members[first]), tuple(others)) for first, *others in alike.values()
    )


def _key(pieces: list[Piece]) -> tuple[object, ...]:
    """The same for groups whose plates have the same beads and stand to each other alike."""
    low = np.min([piece.bounds[0] for piece in pieces], axis=0)
    return tuple(
        (piece.role, piece.seen, piece.thickness_mm, piece.plate.cells.shape,
         piece.plate.cells.tobytes(), _place(piece, low))
        for piece in pieces
    )  # fmt: skip


def _place(piece: Piece, low: NDArray[np.int64]) -> tuple[object, ...]:
    """Where a plate stands from the first place of its group; a sloping one to a thousandth."""
    if piece.turn is None:
        return ((piece.voxels - low).tobytes(),)
    middles = piece.in_figure(piece.voxels + 0.5) - low
    return tuple(np.rint(middles * 1000).astype(np.int64).ravel().tolist())
