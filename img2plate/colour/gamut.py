"""How healthy a palette is: colours too alike to tell apart, and tones that it cannot reach."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from img2plate.colour.difference import delta_E_CIE2000
from img2plate.colour.palette import Palette
from img2plate.colour.spaces import lab2linear, linear2bytes, linear2lab, srgb2linear

TOO_ALIKE = 3.0
"""CIEDE2000 under which two beads side by side are hard to tell apart; a rule of thumb."""
GAP = 10.0
"""CIEDE2000 from the nearest bead over which a tone counts as out of reach; our own choice."""
_SOLID_STEPS = 17
_MOST_COLOURS = 4000
_SHIFTS = 12


class Alike(NamedTuple):
    """Two colours too alike."""

    one: int
    two: int
    difference: float
    """CIEDE2000."""


class Gap(NamedTuple):
    """A tone that the palette lacks."""

    srgb: tuple[int, int, int]
    distance: float
    """CIEDE2000 to the nearest bead."""
    share: float
    """Part of the tones that it would bring nearer, 0..1."""


def alike_pairs(palette: Palette, least: float = TOO_ALIKE) -> list[Alike]:
    """Pairs under a CIEDE2000 difference, most alike first. Only of one finish."""
    found = []
    for one in range(len(palette) - 1):  # a row at a time: a palette may have 30,000 colours
        row = delta_E_CIE2000(palette.lab[one], palette.lab[one + 1 :])
        for offset in np.flatnonzero(row < least):
            two = one + 1 + int(offset)
            if palette.beads[one].finish == palette.beads[two].finish:
                found.append(Alike(one, two, float(row[offset])))
    return sorted(found, key=lambda pair: (pair.difference, pair.one, pair.two))


def srgb_solid() -> NDArray[np.float64]:
    """(n, 3) CIELAB of an even grid through all of sRGB."""
    steps = np.linspace(0, 1, _SOLID_STEPS)
    grid = np.stack(np.meshgrid(steps, steps, steps, indexing="ij"), axis=-1).reshape(-1, 3)
    return np.asarray(linear2lab(np.asarray(srgb2linear(grid), dtype=np.float64)))


def reach(lab: NDArray[np.float64], palette: Palette) -> NDArray[np.float64]:
    """(n,) CIEDE2000 of each colour (n, 3) CIELAB to the nearest bead."""
    return nearest_beads(lab, palette)[1]


def nearest_beads(
    lab: NDArray[np.float64], palette: Palette
) -> tuple[NDArray[np.intp], NDArray[np.float64]]:
    """(n,) the nearest bead of each colour (n, 3) CIELAB, and (n,) its CIEDE2000."""
    nearest, distance = np.zeros(len(lab), np.intp), np.full(len(lab), np.inf)
    for index, colour in enumerate(palette.lab):
        away = delta_E_CIE2000(lab, colour)
        nearest[away < distance] = index
        np.minimum(distance, away, out=distance)
    return nearest, distance


def suggest(lab: NDArray[np.float64], palette: Palette, count: int, *, seed: int = 0) -> list[Gap]:
    """The `count` colours that would help these tones (n, 3) CIELAB most, best first.

    One after the other: of what is there, the tone whose addition lowers the mean difference to
    the nearest bead most, then moved to the middle of the tones that it serves. Stops early when
    nothing helps.
    """
    rng = np.random.default_rng(seed)
    if len(lab) > _MOST_COLOURS:
        lab = lab[rng.choice(len(lab), _MOST_COLOURS, replace=False)]
    nearest, gaps = reach(lab, palette), list[Gap]()
    for _ in range(count):
        centre, serves = _best_tone(lab, nearest, rng)
        if not serves.any():
            break
        red, green, blue = linear2bytes(lab2linear(centre).astype(np.float32)).tolist()
        shown = linear2lab(np.asarray(srgb2linear(np.array([red, green, blue]) / 255)))
        before = float(nearest[serves].mean())
        gaps.append(Gap((red, green, blue), before, float(serves.mean())))
        nearest = np.minimum(nearest, delta_E_CIE2000(lab, shown))
    return gaps


def _best_tone(
    lab: NDArray[np.float64], nearest: NDArray[np.float64], rng: np.random.Generator
) -> tuple[NDArray[np.float64], NDArray[np.bool_]]:
    """The most helpful tone, and which tones it serves."""
    weight = nearest**2
    if not weight.any():
        return lab[0], np.zeros(len(lab), np.bool_)
    tries = rng.choice(len(lab), min(len(lab), 64), p=weight / weight.sum())
    gains = [np.maximum(nearest - delta_E_CIE2000(lab, lab[i]), 0).sum() for i in tries]
    centre = lab[tries[int(np.argmax(gains))]]
    for _ in range(_SHIFTS):
        serves = delta_E_CIE2000(lab, centre) < nearest
        moved = lab[serves].mean(axis=0) if serves.any() else centre
        if np.allclose(moved, centre, atol=0.05):
            break
        before = np.maximum(nearest - delta_E_CIE2000(lab, centre), 0).sum()
        if np.maximum(nearest - delta_E_CIE2000(lab, moved), 0).sum() <= before:
            break
        centre = moved
    return centre, np.asarray(delta_E_CIE2000(lab, centre) < nearest)
