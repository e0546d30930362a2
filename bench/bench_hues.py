"""How far vivid colours are turned in hue by the nearest bead, and how many faint ones lose it.

    python bench/bench_hues.py

Seen on a drawing of a cake: candles of a clear blue became violet, as CIELAB's lines of one hue
bend between blue and violet (P.-C. Hung, R. S. Berns, Color Research & Application 20, 285-295,
1995). Hue is that of OKLab (B. Ottosson, 2020), which was fitted to lines of one hue. Colours are
on the cube of sRGB, those with little chroma left out; of a formula that chooses in OKLab itself
the figures say less.

A lilac icon (gnome-fs-executable of Debian's gnome-icon-theme) came out grey: a faint colour is
nearer to a grey than to the palest bead of its hue. So of faint colours it is counted how many
get a bead without hue.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from img2plate.base.arrays import Floats
from img2plate.colour.formulas import FORMULAS
from img2plate.colour.palette import Palette
from img2plate.colour.palette_file import find_palette
from img2plate.colour.spaces import linear2oklab, srgb2linear
from img2plate.plate.shade.distinct import differences

PALETTES = ("quay-24", "harbour-48", "sea-96")
STEPS = 16
VIVID = 0.12
"""Chroma in OKLab from which on a colour has a hue that is named at once; by eye."""
FAINT = (0.04, 0.08)
"""Chroma in OKLab of colours that are called lilac, sand or mint, not grey; by eye."""
TURNED = 25.0
"""Degrees of hue that are seen as another colour; by eye."""
BLUES = (240.0, 280.0)
"""Hues in degrees of OKLab between sky blue and where violet begins; by eye."""


def hues(oklab: Floats) -> Floats:
    """Degrees, 0..360."""
    return np.asarray(np.degrees(np.arctan2(oklab[:, 2], oklab[:, 1])) % 360)


def has_hue(oklab: Floats) -> NDArray[np.bool_]:
    """(n,) whether a bead is told from a grey."""
    return np.asarray(np.hypot(oklab[:, 1], oklab[:, 2]) >= VIVID / 3)


def turned(palette: Palette, formula: str, linear: Floats) -> Floats:
    """Degrees by which each colour's bead is off in hue; beads without hue count as not turned."""
    chosen = differences(linear, palette, formula).argmin(axis=1)
    beads = palette.oklab[chosen]
    off = np.abs((hues(beads) - hues(linear2oklab(linear)) + 180) % 360 - 180)
    return np.where(has_hue(beads), off, 0.0)


def greyed(palette: Palette, formula: str, linear: Floats) -> float:
    """Share of colours whose bead has no hue."""
    chosen = differences(linear, palette, formula).argmin(axis=1)
    return float(1 - has_hue(palette.oklab[chosen]).mean())


def main() -> None:
    """Print a row for each palette and formula."""
    side = np.linspace(0, 1, STEPS)
    linear = srgb2linear(np.stack(np.meshgrid(side, side, side), axis=-1).reshape(-1, 3))
    chroma = np.hypot(*linear2oklab(linear)[:, 1:].T)
    faint = linear[(chroma >= FAINT[0]) & (chroma < FAINT[1])]
    linear = linear[chroma >= VIVID]
    hue = hues(linear2oklab(linear))
    is_blue = (hue >= BLUES[0]) & (hue <= BLUES[1])
    print(
        f"{len(linear)} vivid colours, {is_blue.sum()} of them blue: turned by over {TURNED:.0f}°;"
        f" {len(faint)} faint ones: grey"
    )
    for name in PALETTES:
        palette = find_palette(name)
        for formula in FORMULAS:
            off = turned(palette, formula, linear)
            print(
                f"{name:12} {formula:10} all {np.mean(off > TURNED):6.1%}, mean {off.mean():4.1f}°;"
                f" blues {np.mean(off[is_blue] > TURNED):6.1%}, mean {off[is_blue].mean():4.1f}°;"
                f" faint {greyed(palette, formula, faint):6.1%}"
            )


if __name__ == "__main__":
    main()
