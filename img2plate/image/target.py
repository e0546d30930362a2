"""From a picture file to the grid that the plate is to look like: the room's front door.

A sprite keeps its pixels: one cell each, or a whole number of cells. Drawings and photos are
averaged.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from img2plate.base.arrays import Pixels
from img2plate.base.errors import PictureError
from img2plate.image.background import fill_background, fill_colour
from img2plate.image.drawing.drawn import draw_cells
from img2plate.image.given import Given, on_white
from img2plate.image.grid import Grid
from img2plate.image.kind.kind import AS_IT_IS, Kind, KindTold
from img2plate.image.native.native_grid import MOST_NATIVE_SIDE, is_worn
from img2plate.image.prepare import Prepared, prepare_cells, prepare_pixels
from img2plate.image.read import Picture
from img2plate.image.sample import cells_as_they_are, finer, sample
from img2plate.image.sizing import (
    LONG_SIDE,
    CropBox,
    Framing,
    SizeWish,
    frame_averaged,
    frame_sprite,
)
from img2plate.image.source_options import SourceOptions

if TYPE_CHECKING:
    from img2plate.image.kind.tell import Taken


@dataclass(frozen=True, eq=False)
class Target:
    """The grid to be matched, and the picture behind it."""

    grid: Grid
    pixels: Pixels
    """(h, w, 4) uint8: cropped, background done; of a sprite its native pixels."""
    framing: Framing
    told: KindTold
    """The kind of picture, and why."""
    notes: tuple[str, ...] = field(default=())
    given: Given | None = None
    """The picture that a sprite's or a drawing's cells were taken from; None where they are the
    averages of `pixels`."""
    check: Pixels | None = None
    """(h, w, 4) uint8: a picture to check the cut-out subject of a photo by."""
    part_check: Pixels | None = None
    """(h, w, 4) uint8: a picture to check the part by that was found with `crop` auto."""
    crop: CropBox | None = None
    """What part of the picture was taken; None for all of it."""
    cut: tuple[int, int] = (0, 0)
    """Columns on the left and rows at the top of that part that were cut off as empty, in cells of
    a sprite, else in pixels."""

    @property
    def cell_px(self) -> tuple[float, float]:
        """Pixels of the picture in one of `pixels`, across and down: 1 but for a sprite."""
        if self.told.kind.is_sprite and self.given is not None:
            return self.given.cell_px
        return 1.0, 1.0

    @property
    def corner(self) -> tuple[float, float]:
        """Left and upper edge of `pixels` on the whole picture, in its pixels."""
        left, top = self.crop[:2] if self.crop else (0, 0)
        x, y = float(self.cut[0]), float(self.cut[1])
        if self.told.kind.is_sprite and self.given is not None:
            x, y = self.given.offset  # what was cut off is in it
        return left + x, top + y

    @property
    def placed(self) -> tuple[float, float, float, float]:
        """Left, top, right, bottom of the plate on the whole picture, in its pixels."""
        (x, y), (across, down) = self.corner, self.cell_px
        left, top, right, bottom = self.framing.box
        return x + left * across, y + top * down, x + right * across, y + bottom * down

    def fine(self, per_cell: int) -> Grid:
        """Return the picture on the same cells at `per_cell` samples a side, for shading."""
        if self.grid.is_sprite:
            return finer(self.grid, per_cell)
        if self.given is not None:  # a drawing whose cells were moved
            return self.given.on_cells(self.grid, self.framing, per_cell)
        fine = sample(
            self.pixels,
            self.framing,
            source=self.grid.source,
            per_cell=per_cell,
            kind=self.grid.kind,
        )
        return on_white(fine, self.grid)

    def as_given(self, per_cell: int) -> Grid:
        """Return the picture as it was given, on the same cells: what a plate is measured by."""
        if self.given is None:
            return self.fine(per_cell)
        return self.given.on_cells(self.grid, self.framing, per_cell)


def read_target(path: Path, wish: SizeWish | None, options: SourceOptions) -> Target:
    """Read a picture and bring it to bead resolution.

    The order matters: cells first, then the background, then margins, then the size. A background
    that is cleared earlier spoils the grid of a smoothly enlarged sprite.
    Raises PictureError, OptionError or SizeError with one line for the user.
    """
    from img2plate.image.opened import open_source  # takes long to load

    opened = open_source(path, options)
    picture, pixels, taken = opened.picture, opened.pixels, opened.taken
    if taken.native.pixels is not None:
        target = _of_sprite(pixels, taken, wish, options, picture)
    else:
        target = _averaged(pixels, taken.told, wish, options, picture)
    if not target.grid.filled.any():
        raise PictureError(f"{path}: no cell is at least half covered; crop it, or make it larger")
    notes = (str(taken.told), *picture.notes, *opened.notes, *target.notes)
    return replace(target, notes=notes, part_check=opened.part_check, crop=opened.crop)


def _of_sprite(
    pixels: Pixels, taken: Taken, wish: SizeWish | None, options: SourceOptions, picture: Picture
) -> Target:
    """The target of a picture (h, w, 4) whose cells were found."""
    native = taken.native
    assert native.pixels is not None
    worn = picture.is_lossy or is_worn(pixels, native)
    ready = prepare_cells(native.pixels, options.background, worn=worn, trim=options.trim)
    fill = fill_colour(options.background)
    seen = pixels if fill is None else fill_background(pixels, fill)
    if native.uneven is not None:
        seen = native.uneven.straightened(seen)
    given = Given(seen, native.offset_px, native.cell_px).moved(*ready.cut)
    target = sprite_target(ready.pixels, wish, picture.name, taken.told)
    return _finished(replace(target, given=given), ready)


def _averaged(
    pixels: Pixels, told: KindTold, wish: SizeWish | None, options: SourceOptions, picture: Picture
) -> Target:
    """The target of a picture (h, w, 4) that has no cells of its own."""
    if options.subject:
        options.subject.check((pixels.shape[1], pixels.shape[0]), "subject")
    ready = prepare_pixels(
        pixels,
        options.background,
        subject=options.subject,
        is_photo=told.kind is Kind.PHOTO,
        trim=options.trim,
    )
    return _finished(averaged_target(ready.pixels, wish, picture.name, told), ready)


def _finished(target: Target, ready: Prepared) -> Target:
    """Add what was done to the background."""
    notes = ready.told(target.framing, target.grid.filled)
    return replace(target, notes=(*target.notes, *notes), check=ready.check, cut=ready.cut)


def sprite_target(
    pixels: Pixels, wish: SizeWish | None, name: str, told: KindTold = AS_IT_IS
) -> Target:
    """Give each native pixel (h, w, 4) one cell, or a whole number of cells when that fits."""
    height, width = pixels.shape[:2]
    framing = frame_sprite((width, height), wish)
    step_x, step_y = framing.step
    if max(step_x, step_y) > 1.0001:
        grid = sample(pixels, framing, source=name, kind=Kind.DRAWING)
        note = "made smaller, so that pixels are averaged and detail is lost"
        return Target(grid, pixels, framing, told, (note,))
    notes = []
    if any(abs(1 / step - round(1 / step)) > 1e-6 for step in framing.step):
        notes.append(
            f"{framing.size[0]} x {framing.size[1]} beads is not a whole multiple of the sprite:"
            f" some of its pixels become wider than others ({width} or {width * 2} wide is even)"
        )
    grid = replace(cells_as_they_are(_pick(pixels, framing), source=name), kind=told.kind)
    return Target(grid, pixels, framing, told, tuple(notes))


def averaged_target(pixels: Pixels, wish: SizeWish | None, name: str, told: KindTold) -> Target:
    """Average a drawing or a photo (h, w, 4) over the plate's cells."""
    height, width = pixels.shape[:2]
    notes: list[str] = []
    if wish is None and max(width, height) > MOST_NATIVE_SIDE:
        notes.append(f"no size given: {LONG_SIDE} beads on the long side; see `width`")
    framing = frame_averaged((width, height), wish)
    if min(framing.step) < 1:
        notes.append("the picture has fewer pixels than the plate has beads: it will look soft")
    if told.kind is Kind.DRAWING:
        drawn = draw_cells(pixels, framing, source=name)
        if drawn is not None:
            given = None if drawn.framing == framing else Given(pixels)
            return Target(drawn.grid, pixels, drawn.framing, told, tuple(notes), given)
    grid = sample(pixels, framing, source=name, kind=told.kind)
    return Target(grid, pixels, framing, told, tuple(notes))


def _pick(pixels: Pixels, framing: Framing) -> Pixels:
    """Take the pixel under the middle of each cell; outside the picture it is see-through."""
    left, top, _, _ = framing.box
    step_x, step_y = framing.step
    x = np.floor(left + (np.arange(framing.size[0]) + 0.5) * step_x).astype(np.int64)
    y = np.floor(top + (np.arange(framing.size[1]) + 0.5) * step_y).astype(np.int64)
    inside_x, inside_y = (x >= 0) & (x < pixels.shape[1]), (y >= 0) & (y < pixels.shape[0])
    picked = pixels[np.clip(y, 0, pixels.shape[0] - 1)[:, None], np.clip(x, 0, pixels.shape[1] - 1)]
    picked[~(inside_y[:, None] & inside_x)] = 0
    return np.asarray(picked)
