"""A figure's plates as they lie on boards when the side that is seen faces down there."""

from __future__ import annotations

from dataclasses import replace

from img2plate.solid.box.build import Figure
from img2plate.solid.piece import Piece


def laid_face_down(figure: Figure) -> Figure:
    """The same figure, each plate's columns from the other end; joints keep their letters.

    Pages drawn of it read as the boards do: columns count from the left as they lie. Only for
    pages: its plates' sides are not those that the figure shows.
    """
    pieces = tuple(map(_from_behind, figure.pieces))
    return replace(figure, pieces=pieces, joints_before=figure.joints)


def _from_behind(piece: Piece) -> Piece:
    """Cells and their places from the other end of each row."""
    plate = replace(piece.plate, cells=piece.plate.cells[:, ::-1].copy())
    first, second, third = (axis[:, ::-1] for axis in piece.places)
    return replace(piece, plate=plate, places=(first, second, third))
