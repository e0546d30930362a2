"""Which of the colours used are shades of a base: by hue, and by where they lie.

Skin beside a red coat is nearly of its hue, and so is the wood below a red hull. What tells them
from a shade is the border: a shade lies in what it shades. So of the colours used of a
base's family one belongs to it when a large enough part of its border is with what belongs already:
the larger, the further its hue is off, and its chroma, which a shade loses only as it gets lighter
or darker. The figures are our own choice, by eye.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from img2plate.colour.companions import GREY_CHROMA, family
from img2plate.colour.palette import Palette
from img2plate.plate.usage import Usage

LEAST_BORDER = 0.1
"""Part of its border that a colour of the base's very hue needs with it and its shades."""
MORE_BORDER, TURN_DEGREES = 0.5, 15.0
"""How much more one needs whose hue is turned so far; it rises with the square."""
OTHER_CHROMA = 0.8
"""How much more one needs that has no chroma where a shade would have all of the base's."""
FADING = 1.5
"""Part of the chroma that a shade may lose in OKLab lightness from 0 to 1."""
RICHER = 1.25
"""How much more chroma than the base a shade may have."""


def shades(usage: Usage, base: int) -> NDArray[np.intp]:
    """Palette indices of the base and of the shades of it that are used, rising."""
    palette, counts, border = usage.palette, usage.counts, usage.border
    needed = _needed(palette, base)
    waiting = {int(index) for index in family(palette, base) if counts[index]} - {base}
    found = [base]
    while waiting:
        spare = {
            index: border[index, found].sum() / max(1, usage.around[index]) - needed[index]
            for index in waiting
        }
        best = max(sorted(waiting), key=lambda index: float(spare[index]))
        if spare[best] < 0:
            break
        found.append(best)
        waiting.remove(best)
    return np.array(sorted(found), np.intp)


def _needed(palette: Palette, base: int) -> NDArray[np.float64]:
    """(n,) part of its border that a colour needs to have with the base's shades."""
    a, b = palette.oklab[:, 1], palette.oklab[:, 2]
    hue, chroma = np.degrees(np.arctan2(b, a)), np.hypot(a, b)
    turn = np.abs((hue - hue[base] + 180) % 360 - 180)
    away = np.abs(palette.oklab[:, 0] - palette.oklab[base, 0])
    ratio = chroma / max(chroma[base], 1e-9)
    duller, richer = 1 - FADING * away - ratio, ratio - RICHER
    other = np.clip(np.maximum(duller, richer), 0, 1)
    more = MORE_BORDER * (turn / TURN_DEGREES) ** 2 + OTHER_CHROMA * other
    greys = (chroma < GREY_CHROMA) & (chroma[base] < GREY_CHROMA)
    return np.asarray(LEAST_BORDER + np.where(greys, 0.0, more))
