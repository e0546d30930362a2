"""Pitched roofs and single sloping plates over a part, that their walls' tabs go through.

Two plates of a roof meet in fingers of one row. Where they have an even number of columns both are
the same plate, as fingers read from one end are gaps from the other.
"""

from __future__ import annotations

from math import ceil

import numpy as np
from numpy.typing import NDArray

from img2plate.base.arrays import Mask
from img2plate.base.errors import FigureError
from img2plate.colour.palette import Palette
from img2plate.plate.plate import EMPTY, Plate
from img2plate.solid.box.fingers import choose_finger
from img2plate.solid.faces import FAR, NORMAL
from img2plate.solid.fit.model import FitModel
from img2plate.solid.piece import Piece
from img2plate.solid.slope.angles import (
    GOOD_RIDGE,
    Slope,
    lengths_that_do,
    roof_slope,
    wedge_slope,
)
from img2plate.solid.slope.lie import Lie
from img2plate.solid.spec import PartSpec, RoofSpec

Place = tuple[int, int, int]
TIGHT_MM = 0.15
"""Play of a tab along the slope under which it is told; a guess."""
MOST_WIDER = 30
"""Beads by which a part is made wider to see what slopes over it."""


def lie_of(spec: RoofSpec, part: PartSpec, thickness_mm: float, model: FitModel) -> Lie:
    """How a roof lies over its part. Raises FigureError with the lengths that would do."""
    slope = slope_of(spec.length, part.size[NORMAL[spec.low]], thickness_mm, model,
                     pitched=spec.pitched)  # fmt: skip
    if isinstance(slope, str):
        raise FigureError(f"{spec.name}: {slope}")
    return Lie(spec, part.size, slope, thickness_mm, model)


def slope_of(
    length: float, wide: int, thickness_mm: float, model: FitModel, *, pitched: bool
) -> Slope | str:
    """The slope of plates over a part so many beads wide, or why there is none and what would do.

    length: 0 for the one that slopes nearest to 40 degrees.
    """
    run = (wide - 1) / (2 if pitched else 1)
    find = roof_slope if pitched else wedge_slope
    if length:
        found = find(run, length, thickness_mm, model)
        if isinstance(found, Slope):
            return found
        words = found
    else:
        more = range(wide + 1, wide + MOST_WIDER)
        share = 2 if pitched else 1
        do = (n for n in more if lengths_that_do((n - 1) / share, thickness_mm, model,
                                                 ridge=pitched))  # fmt: skip
        words = f"nothing slopes over {wide} beads; it takes {next(do, MOST_WIDER)} and more"
    good = lengths_that_do(run, thickness_mm, model, ridge=pitched)
    if not length and good:
        return min(good, key=lambda slope: abs(slope.degrees - 40))
    near = sorted(good, key=lambda slope: abs(slope.length - length))[:2]
    offer = " or ".join(f"{s.length:g} ({s.degrees:.0f} degrees)"
                        for s in sorted(near, key=lambda s: s.length))  # fmt: skip
    return f"{words}; a length of {offer} would do" if offer else words


def remark_of(lie: Lie) -> str:
    """What follows from run and length, in words; a ridge that holds less well is told."""
    slope = lie.slope
    said = (
        f"{lie.spec.name} slopes {slope.degrees:.1f} degrees and rises {slope.rise_mm:.0f} mm;"
        f" {'each plate has' if lie.spec.pitched else 'its plate has'}"
        f" {lie.columns} x {lie.rows} beads, tabs have {slope.slack_mm:.1f} mm of play"
    )
    if slope.slack_mm < TIGHT_MM:
        said += " and go in tight"
    if slope.ridge_degrees is None:
        return said
    low, high = GOOD_RIDGE
    said += f", the ridge has {slope.ridge_degrees:.0f} degrees"
    if not low <= slope.ridge_degrees <= high:
        said += ": it holds less well than one from 90 to 120"
    return said


def make_roof(lie: Lie, at: Place, palette: Palette) -> list[Piece]:
    """The plates of a roof over a part at a place."""
    made = []
    for number, face in enumerate(lie.faces):
        cells = np.where(_kept(lie, number), lie.spec.cells, np.int16(EMPTY))
        places = _places(lie, face, at)
        low = np.array([axis[-1, 0] for axis in places])
        name = face if lie.spec.pitched else "plate"
        plate = Plate(cells, palette, f"{lie.spec.name} {name}")
        turn = lie.turn(face, at, low)
        made.append(Piece(name, lie.spec.name, "roof", plate, places, face, lie.thickness_mm, turn))
    return made


def _places(
    lie: Lie, face: str, at: Place
) -> tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.int64]]:
    """Places of a plate before it is turned: upright in the layer of its wall, slots at its top."""
    rows, columns = np.mgrid[0 : lie.rows, 0 : lie.columns]
    back = face in ("back", "left")  # seen from outside, these run the other way
    run = (lie.columns - 1 - columns if back else columns) - lie.spec.overhang + at[lie.along]
    layer = at[lie.across] + (lie.size[lie.across] - 1 if face in FAR else 0)
    places = [run, run, at[2] + lie.size[2] + ceil(lie.slots[-1]) - rows]
    places[lie.across] = np.full_like(run, layer)
    return places[0], places[1], places[2]


def _kept(lie: Lie, number: int) -> Mask:
    """(h, w) where a plate has a bead: not in its slots, nor where the other has its fingers."""
    kept = np.ones((lie.rows, lie.columns), dtype=bool)
    tabs = np.pad(lie.tabs(), lie.spec.overhang)
    for middle in lie.slots:
        first = round(middle - (lie.slope.cells - 1) / 2)
        kept[first : first + lie.slope.cells, tabs] = False
    if lie.spec.pitched:
        fingers = ridge_fingers(lie.columns)
        kept[0] = fingers if number == 0 else ~fingers[::-1]
    return kept


def ridge_fingers(long: int) -> Mask:
    """(n,) which beads of a ridge are the first plate's; the same from either end, or the opposite.

    With an even number of beads the fingers of one plate are the gaps of the other, read from the
    other end.
    """
    count = max(3, round(long / choose_finger(long)))
    if long >= 8 or long % 2:  # else two fingers and a gap of two beads each
        count += (count - long) % 2
    if 2 * count > long:
        count -= 2
    shares = np.full(count, long // count)
    left = long - int(shares.sum())
    middle = count // 2
    for n in range(left // 2):
        shares[[middle - 1 - n, -(middle - n)]] += 1
    if left % 2:
        shares[middle] += 1
    return np.repeat(np.arange(count) % 2 == 0, shares)


def facts_of(lie: Lie) -> dict[str, object]:
    """In plain types: angles in degrees, lengths in mm or beads."""
    slope = lie.slope
    return {
        "name": lie.spec.name,
        "on": lie.spec.host,
        "run_beads": slope.run,
        "length_beads": slope.length,
        "angle_degrees": round(slope.degrees, 3),
        "rise_mm": round(slope.rise_mm, 3),
        "slot_cells": slope.cells,
        "play_mm": round(slope.slack_mm, 3),
        "shift_mm": round(slope.shift_mm, 3),
        "ridge_degrees": None if slope.ridge_degrees is None else round(slope.ridge_degrees, 3),
        "plate_beads": [lie.columns, lie.rows],
    }
