"""What is done between finding a picture's cells and giving it a size: background, then margins.

A sprite comes as its cells, anything else as its pixels; the steps are the same.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from img2plate.base.arrays import Mask, Pixels
from img2plate.base.errors import OptionError
from img2plate.image.background import (
    CLEARING,
    LIKE_DE,
    LIKE_DE_WORN,
    Cleared,
    clear_background,
    fill_background,
    fill_colour,
)
from img2plate.image.sample import covered
from img2plate.image.sizing import CropBox, Framing
from img2plate.image.subject import draw_subject, find_subject

EVEN_BORDER = 0.75
"""Share of a photo's border in one colour from which that is the background: a thing on paper."""
MOST_RIM, PX_A_RIM = 2, 150
"""Depth of soft edges, in pixels; one for so many pixels of the long side, so that of a small
drawing no whole beads go."""


@dataclass(frozen=True, eq=False)
class Prepared:
    """A sprite's cells, or a picture's pixels, with the background done and margins cut."""

    pixels: Pixels
    uncleared: Pixels
    """The same, with the background that was cleared still there."""
    cut: tuple[int, int] = (0, 0)
    """Columns on the left and rows at the top that were cut off."""
    cleared: str = ""
    """What was cleared, for people; empty when nothing was."""
    notes: tuple[str, ...] = ()
    check: Pixels | None = None
    """A picture to check the subject by, when one was cut out."""

    def told(self, framing: Framing, filled: Mask) -> tuple[str, ...]:
        """What was done, for people: what was cleared is told in beads of the plate."""
        if not self.cleared:
            return self.notes
        before = covered(self.uncleared, framing) >= 0.5
        fewer = np.count_nonzero(before & ~filled)
        return (f"{self.cleared}: {fewer:,} beads fewer", *self.notes)


def prepare_cells(cells: Pixels, background: str, *, worn: bool, trim: bool) -> Prepared:
    """Do a sprite's background and margins on its cells; `worn`: they come from a JPEG."""
    if background not in CLEARING:
        return _trimmed(_filled(cells, background), trim, "cells")
    like = LIKE_DE_WORN if worn else LIKE_DE
    cleared = clear_background(cells, enclosed=background == "clear-all", like_de=like)
    return _trimmed(_as_prepared(cells, cleared), trim, "cells")


def prepare_pixels(
    pixels: Pixels,
    background: str,
    *,
    subject: CropBox | None,
    is_photo: bool,
    trim: bool,
) -> Prepared:
    """Do the background and margins of a picture.

    An even background is cleared; else, of a photo, all but the subject, or what `subject` (x, y,
    width, height) holds. When that is unsure nothing is cleared.
    """
    if background not in CLEARING:
        return _trimmed(_filled(pixels, background), trim)
    if subject is not None:
        return _trimmed(_only_subject(pixels, subject), trim)
    cleared = clear_background(
        pixels,
        enclosed=background == "clear-all",
        rim=min(MOST_RIM, max(pixels.shape) // PX_A_RIM),
        **({"least_border": EVEN_BORDER} if is_photo else {}),
    )
    if cleared.ground or not is_photo or pixels[..., 3].min() < 255:
        return _trimmed(_as_prepared(pixels, cleared), trim)
    return _trimmed(_only_subject(pixels, None), trim)


def _filled(pixels: Pixels, background: str) -> Prepared:
    """Fill what is see-through, when a colour is named."""
    colour = fill_colour(background)
    filled = pixels if colour is None else fill_background(pixels, colour)
    return Prepared(filled, filled)


def _as_prepared(pixels: Pixels, cleared: Cleared) -> Prepared:
    """Put into words what was cleared, or why nothing was."""
    said = f"background {cleared.ground} cleared" if cleared.ground else ""
    return Prepared(cleared.pixels, pixels, cleared=said, notes=cleared.notes)


def _only_subject(pixels: Pixels, box: CropBox | None) -> Prepared:
    """Clear all but the subject, or say that it was not found."""
    found = find_subject(pixels, box)
    if not found.sure:
        why = "nothing in it differs from what is round it" if box else "not sure what it is"
        return Prepared(
            pixels,
            pixels,
            notes=(f"no subject found ({why}): nothing cleared; see `subject`",),
            check=draw_subject(pixels, found.mask) if found.mask.any() else None,
        )
    cleared = pixels.copy()
    cleared[~found.mask, 3] = 0
    said = f"the subject takes {found.mask.mean():.0%} of the picture, all else is cleared"
    return Prepared(cleared, pixels, cleared=said, check=draw_subject(pixels, found.mask))


def _trimmed(prepared: Prepared, trim: bool, what: str = "pixels") -> Prepared:
    """Cut off empty columns and rows at the sides."""
    shown = prepared.pixels[..., 3] >= 128
    if not trim or not shown.any():
        return prepared
    rows, columns = np.flatnonzero(shown.any(axis=1)), np.flatnonzero(shown.any(axis=0))
    part = slice(rows[0], rows[-1] + 1), slice(columns[0], columns[-1] + 1)
    off = shown.shape[1] - len(range(*part[1].indices(shown.shape[1])))
    off_rows = shown.shape[0] - len(range(*part[0].indices(shown.shape[0])))
    if not off and not off_rows:
        return prepared
    return replace(
        prepared,
        pixels=prepared.pixels[part],
        uncleared=prepared.uncleared[part],
        cut=(int(columns[0]), int(rows[0])),
        notes=(
            *prepared.notes,
            f"empty margins cut off: {off} columns and {off_rows} rows of the picture's {what}",
        ),
    )


def check_options(background: str, subject: CropBox | None) -> None:
    """Raise OptionError for a background that is none, or a subject that nothing asks for."""
    fill_colour(background)
    if subject and background not in CLEARING:
        raise OptionError(
            "says what to keep when `background` is cleared",
            field="subject",
            remedy="give `background` clear with it",
        )
