"""The front door: the part of a picture that is pixel art with a grid of its own."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from img2plate.base.arrays import Pixels
from img2plate.base.errors import OptionError
from img2plate.image.jpeg.source import JpegSource
from img2plate.image.native.exact import exact_grid
from img2plate.image.native.native_grid import NativeGrid
from img2plate.image.screen.parts import Part, find_parts
from img2plate.image.sizing import CropBox

SURE_WORTH, SURE_FLAT_WORTH, SURE_ON = 80.0, 50.0, 16
"""Nats, and corners on the raster, from which on a part needs no other judge; the second where most
of its cells are of one colour."""
MOST_FLAT = 0.7
"""Share of cells of one colour, from which on the picture is as it was drawn."""
SMOOTH = 0.02
"""Of a part's pitch, by which a grid that is found in it may be off."""
MOST_MEGAPIXELS = 9.0
"""Of a picture that is looked at without being asked for."""
LEAST_SCREEN, PLAIN = 400, 0.4
"""Pixels of the shorter side of a screen, and the share of neighbours that are of one colour."""
LEAST_HINTED, HINTED_WORTH = 3, 120.0
"""Pixels a cell, and nats, of a part that is named without being asked for."""


@dataclass(frozen=True)
class Piece:
    """A part that is believed to have a grid."""

    crop: CropBox
    cells: tuple[int, int]
    """Columns and rows."""
    pitch: int
    """Pixels a cell."""
    native: NativeGrid | None = None
    """Its cells, where most of them are of one colour; None where they are to be found."""

    def __str__(self) -> str:
        """In words, for people."""
        where = ",".join(map(str, self.crop))
        return f"{where} ({self.cells[0]} x {self.cells[1]} cells of {self.pitch} px)"


@dataclass(frozen=True)
class Proposal:
    """What was found on a picture."""

    pieces: tuple[Piece, ...]
    """Largest first; empty when the whole picture has one grid."""

    @property
    def notes(self) -> tuple[str, ...]:
        """Which part was taken, and which others there are."""
        if not self.pieces:
            return ("the whole picture has one grid, so nothing was cropped",)
        taken, *others = self.pieces
        notes = [f"took the part {taken}"]
        if others:
            named = "; ".join(map(str, others))
            notes.append(f"other parts with a grid: {named}; give one of them as `crop`")
        return tuple(notes)


def propose(pixels: Pixels, source: JpegSource | None, *, lossy: bool) -> Proposal:
    """Find the parts of a picture (h, w, 4) that have a grid. Raises OptionError without any.

    lossy: its kind of file changes pixels, as JPEG does; `source` is that file, if known.
    """
    if exact_grid(pixels) is not None:
        return Proposal(())
    parts = find_parts(pixels, lossy=lossy)
    found = [piece for part in parts if (piece := _judged(pixels, part, source)) is not None]
    if not found:
        raise OptionError(
            "found no part with a grid of its own",
            field="crop",
            value="auto",
            remedy="give X,Y,W,H yourself, or leave it out",
        )
    return Proposal(tuple(sorted(found, key=lambda piece: -piece.crop.width * piece.crop.height)))


def hint(pixels: Pixels, *, lossy: bool) -> tuple[str, ...]:
    """A note when a part of a picture (h, w, 4) without a grid is pixel art beyond doubt.

    Only of pictures as screens give them: large, not compressed, and with plain areas.
    """
    height, width = pixels.shape[:2]
    if lossy or height * width > MOST_MEGAPIXELS * 1e6 or min(height, width) < LEAST_SCREEN:
        return ()
    rows = pixels[:: height // 32]
    if (rows[:, 1:] == rows[:, :-1]).all(axis=2).mean() < PLAIN:
        return ()
    parts = find_parts(pixels, most=1)
    if not parts or parts[0].raster.pitch < LEAST_HINTED or parts[0].worth < HINTED_WORTH:
        return ()
    piece = _piece(pixels, parts[0])
    if piece.native is None:
        return ()
    return (f"the part {piece} looks like enlarged pixel art; `crop` auto takes such parts",)


def _judged(pixels: Pixels, part: Part, source: JpegSource | None) -> Piece | None:
    """The part if it is believed; of doubtful ones the search for grids is asked."""
    piece = _piece(pixels, part)
    if _is_sure(part, piece):
        return piece
    from img2plate.image.native.recover import find_native_grid

    own = source and source.cropped(*piece.crop)
    found = find_native_grid(_cut(pixels, piece.crop), source=own)
    off = max(abs(pitch / piece.pitch - 1) for pitch in found.cell_px)
    return piece if found.cells is not None and off <= SMOOTH else None


def _is_sure(part: Part, piece: Piece) -> bool:
    """Whether its corners say enough."""
    least = SURE_WORTH if piece.native is None else SURE_FLAT_WORTH
    return part.worth >= least and part.on >= SURE_ON


def _piece(pixels: Pixels, part: Part) -> Piece:
    """What to take for a part."""
    left, top, right, bottom = part.box
    crop = CropBox(left, top, right - left, bottom - top)
    return Piece(crop, part.cells, part.raster.pitch, _flat_cells(_cut(pixels, crop), part))


def _flat_cells(pixels: Pixels, part: Part) -> NativeGrid | None:
    """The cells of a part (h, w, 4) where most are of one colour, as no blur or compression is.

    A cell on which something else lies gets the median of its pixels.
    """
    (columns, rows), pitch = part.cells, part.raster.pitch
    blocks = pixels.reshape(rows, pitch, columns, pitch, 4).transpose(0, 2, 1, 3, 4)
    blocks = blocks.reshape(rows, columns, -1, 4)
    if (blocks == blocks[:, :, :1]).all(axis=(2, 3)).mean() < MOST_FLAT:
        return None
    cells = np.sort(blocks, axis=2)[:, :, pitch * pitch // 2]
    size = float(pitch), float(pitch)
    return NativeGrid(part.cells, size, (0.0, 0.0), 1.0, "nearest", np.ascontiguousarray(cells))


def _cut(pixels: Pixels, crop: CropBox) -> Pixels:
    return pixels[crop.y : crop.y + crop.height, crop.x : crop.x + crop.width]
