"""Other colours for a base and its shades, keeping light and shade.

The recoloured set is a base colour and its shades among those used (see `shades`).
Each of its colours would like to keep its distance in lightness from the base, with the hue of the
target and a chroma in proportion (OKLab). Which beads they get is found all at once: the
cheapest assignment in which lightness keeps its order and no two colours become one, by dynamic
programming over both sets sorted by lightness.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from img2plate.base.arrays import Mask
from img2plate.base.errors import OptionError
from img2plate.colour.companions import GREY_CHROMA, family
from img2plate.colour.palette import Palette
from img2plate.plate.shades import shades
from img2plate.plate.usage import Usage

OUTSIDE = 0.15
"""Price, in OKLab distance, of a bead that is not of the target's family."""
MERGES = 1e3
"""Price of a bead that an untouched neighbour has: only when there is nothing else."""


@dataclass(frozen=True)
class Recolouring:
    """What a base and its shades become."""

    base: int
    """Palette index."""
    target: int
    """Palette index of what the base is to become."""
    changed: dict[int, int]
    """Palette index before and after, of the base and each shade."""
    notes: tuple[str, ...]
    """What could not be kept, a sentence each."""

    def table(self, colours: int) -> NDArray[np.int16]:
        """(colours + 1,) int16 new index of each palette colour; the last is -1, an empty cell."""
        table = np.append(np.arange(colours), -1).astype(np.int16)
        table[list(self.changed)] = list(self.changed.values())
        return table


def recolourings(
    usage: Usage,
    targets: Sequence[int],
    *,
    base: int | None = None,
    keep: Sequence[int] = (),
    also: Sequence[int] = (),
) -> list[Recolouring]:
    """What becomes of a base for each target, a palette index; `base` is found when not given.

    Shades in `keep` are left as they are, colours in `also` go with the base though they seem no
    shades of it. A base that is its own target changes nothing. Raises OptionError when
    the base or a colour of `also` is not used, or the base is to be kept.
    """
    base, palette = main_colour(usage) if base is None else base, usage.palette
    code = palette.beads[base].code
    if base in keep:
        raise OptionError(
            f"{code} is what is recoloured", field="keep_colours", remedy="name another `base`"
        )
    if not usage.counts[base]:
        raise OptionError(
            f"there is no bead of {code} in it", field="base", remedy="name a colour it has"
        )
    if missing := [index for index in also if not usage.counts[index]]:
        also_code = palette.beads[missing[0]].code
        raise OptionError(f"there is no bead of {also_code} in it", field="also_colours")
    members = np.union1d(shades(usage, base), np.array(also, np.intp))
    sources = members[~np.isin(members, keep)]
    sources = sources[np.argsort(palette.oklab[sources, 0], kind="stable")]
    return [_recolouring(usage, base, sources, target) for target in targets]


def main_colour(usage: Usage, *, among: Mask | None = None) -> int:
    """Palette index of the middle shade of what there is most of.

    That is: of the shades of a colour, as many beads as may be, the most used colour that is no
    grey (of greys alone the most used) among them, the one with as many beads of it darker as
    lighter: so a target gets shades on both sides.

    among: (n,) bool, the colours that are looked at; None for all.
    """
    counts, palette = usage.counts, usage.palette
    counts = counts if among is None else np.where(among, counts, 0)
    chroma = np.hypot(palette.oklab[:, 1], palette.oklab[:, 2])
    coloured = np.where(chroma >= GREY_CHROMA, counts, 0)
    coloured = coloured if coloured.any() else counts
    most = int(coloured.argmax())
    near = [index for index in family(palette, most).tolist() if counts[index]]
    sets = [found for index in near if most in (found := shades(usage, index))]
    found = max(sets, key=lambda found: int(coloured[found].sum()))
    found = found[np.argsort(palette.oklab[found, 0], kind="stable")]
    beads = np.cumsum(coloured[found])
    return int(found[np.searchsorted(beads, beads[-1] / 2)])


def _recolouring(usage: Usage, base: int, sources: NDArray[np.intp], target: int) -> Recolouring:
    """What the sources (palette indices, dark to light) become for one target."""
    palette = usage.palette
    if target == base:
        return Recolouring(base, base, {int(source): int(source) for source in sources}, ())
    price = _prices(palette, base, sources, target)
    price += MERGES * _merging(usage, sources)
    choice = _on_offer(palette, price)
    chosen = choice[_keep_order(price[:, choice])]
    changed = {int(s): int(c) for s, c in zip(sources, chosen, strict=True)}
    notes = _notes(palette, sources, chosen, target, price)
    return Recolouring(base, target, changed, (*notes, *_twins(palette, changed, usage.touching)))


def _prices(
    palette: Palette, base: int, sources: NDArray[np.intp], target: int
) -> NDArray[np.float64]:
    """(m, n) how far each bead is from what each source would like to become."""
    colours = palette.oklab
    chroma = np.hypot(colours[:, 1], colours[:, 2])
    wanted = np.repeat(colours[target][None], len(sources), axis=0)
    wanted[:, 0] += colours[sources, 0] - colours[base, 0]
    if chroma[base] >= GREY_CHROMA:
        wanted[:, 1:] *= np.clip(chroma[sources] / chroma[base], 0, 1.25)[:, None]
    price = np.linalg.norm(wanted[:, None] - colours, axis=2)
    outside = np.ones(len(palette), np.bool_)
    outside[family(palette, target)] = False
    price[:, outside] += OUTSIDE
    # The base itself becomes the target when order and neighbours allow it.
    price[np.flatnonzero(sources == base)[0], target] -= OUTSIDE
    return np.asarray(price)


def _merging(usage: Usage, sources: NDArray[np.intp]) -> Mask:
    """(m, n) whether a source touches an untouched colour that looks like that bead."""
    untouched = usage.counts > 0
    untouched[sources] = False
    beside = usage.touching[sources] & untouched
    look = _looks(usage.palette)
    alike = look[:, None] == look
    return np.asarray(beside.astype(np.float32) @ alike > 0)


def _looks(palette: Palette) -> NDArray[np.intp]:
    """(n,) a number for each colour, the same for two codes of one colour."""
    return np.unique(palette.srgb, axis=0, return_inverse=True)[1].reshape(-1)


def _on_offer(palette: Palette, price: NDArray[np.float64]) -> NDArray[np.intp]:
    """Palette indices, dark to light: of codes of one colour the cheapest if that is enough."""
    cheapest = np.argsort(price.sum(axis=0), kind="stable")
    _, first = np.unique(_looks(palette)[cheapest], return_index=True)
    offer = cheapest[first] if len(first) >= len(price) else np.arange(len(palette))
    return np.asarray(offer[np.lexsort((offer, palette.oklab[offer, 0]))])


def _keep_order(price: NDArray[np.float64]) -> NDArray[np.intp]:
    """Column of each row, strictly rising, at the lowest total price (m, n); m is at most n."""
    rows, columns = price.shape
    best = np.full((rows + 1, columns + 1), np.inf)
    best[0] = 0.0
    for row in range(rows):  # best[i, j]: the first i rows within the first j columns
        best[row + 1, 1:] = np.minimum.accumulate(best[row, :-1] + price[row])
    chosen, column = np.empty(rows, np.intp), columns
    for row in range(rows, 0, -1):
        column = int(np.argmax(best[row] == best[row, column]))
        chosen[row - 1] = column - 1
        column -= 1
    return chosen


def _notes(
    palette: Palette,
    sources: NDArray[np.intp],
    chosen: NDArray[np.intp],
    target: int,
    price: NDArray[np.float64],
) -> tuple[str, ...]:
    """Say what could not be kept."""
    code = palette.beads[target].code
    notes = []
    own = set(family(palette, target).tolist())
    if strangers := [palette.beads[c].code for c in chosen if int(c) not in own]:
        notes.append(f"{code}: its family has too few shades, also used: {', '.join(strangers)}")
    for row, (source, new) in enumerate(zip(sources, chosen, strict=True)):
        if price[row, new] >= MERGES / 2:
            old, became = palette.beads[source].code, palette.beads[new].code
            notes.append(f"{code}: {old} becomes {became} like a neighbour; nothing else is left")
    return tuple(notes)


def _twins(palette: Palette, changed: dict[int, int], touching: Mask) -> list[str]:
    """Say which recoloured colours that touch became two codes of one colour."""
    look, code = _looks(palette), [bead.code for bead in palette.beads]
    return [
        f"{code[one]} and {code[two]}, which touch, become of one colour; nothing else is left"
        for one, two in combinations(changed, 2)
        if touching[one, two]
        and look[one] != look[two]
        and look[changed[one]] == look[changed[two]]
    ]
