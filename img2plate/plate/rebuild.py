"""Rebuild: the same plate in another palette or from other beads, colour for colour.

Each colour of the plate gets a colour of its own at the lowest sum of differences (each times the
square root of its beads: large areas count most, and a few beads still count), such that light and
shade keep their order. Where that would move a colour further than it differs from
another, the two go together, unless every colour is to stay by itself. See `matching`.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from img2plate.base.errors import OptionError, StockError
from img2plate.colour.difference import delta_E_CIE2000
from img2plate.colour.palette import Bead, Palette
from img2plate.plate.in_order import FORBIDDEN
from img2plate.plate.matching import Matched, Matcher, Wanted
from img2plate.plate.plate import EMPTY, Plate
from img2plate.plate.usage import usage_of

_MOST_NAMED = 6


@dataclass(frozen=True)
class Change:
    """One colour of the plate and what it became."""

    old: Bead
    new: Bead
    beads: int
    difference: float
    """CIEDE2000."""


@dataclass(frozen=True, eq=False)
class Rebuilt:
    """A plate in other beads."""

    plate: Plate
    changes: tuple[Change, ...]
    """The largest difference first."""
    notes: tuple[str, ...]
    """What could not be kept, a sentence each."""

    @property
    def difference(self) -> float:
        """Mean over all beads, CIEDE2000."""
        beads = sum(change.beads for change in self.changes)
        return sum(change.beads * change.difference for change in self.changes) / max(1, beads)


def rebuild(
    plate: Plate,
    palette: Palette,
    *,
    limits: NDArray[np.int64] | None = None,
    fixed: Mapping[int, int] | None = None,
    one_to_one: bool = False,
    difference: str = "hyab",
) -> Rebuilt:
    """Find the beads of another palette for each colour of a plate.

    limits: (n,) most beads of each colour of that palette; fixed: indices in the plate's palette
    and in the other, of colours whose bead is known; one_to_one: no two colours go together unless
    there are not enough; difference: hyab or ciede2000, how colours are compared. What it costs is
    told in CIEDE2000 either way. Raises StockError when no colour has enough beads for one of the
    plate's, OptionError when a fixed colour is not on the plate.
    """
    wanted = _wanted(plate, palette, limits, difference, fixed or {})
    matcher = Matcher(wanted)
    found = matcher.match(matcher.single())
    if found is None:
        raise StockError(_too_few(wanted))
    found = found if one_to_one else matcher.together(found)
    cells = np.append(np.arange(len(plate.palette)), EMPTY).astype(np.int16)
    for group, bead in zip(found.groups, found.beads.tolist(), strict=True):
        cells[wanted.sources[list(group)]] = bead
    made = {**plate.made, "rebuilt": f"{plate.palette.name} in {palette.name}"}
    new = replace(plate, cells=cells[plate.cells], palette=palette, made=made)
    return Rebuilt(new, changes_between(plate, new), _notes(wanted, found))


def _wanted(
    plate: Plate,
    palette: Palette,
    limits: NDArray[np.int64] | None,
    difference: str,
    fixed: Mapping[int, int],
) -> Wanted:
    """The plate's colours, dark to light, and the beads that there are."""
    counts = plate.counts()
    if strange := [index for index in fixed if not counts[index]]:
        code = plate.palette.beads[strange[0]].code
        raise OptionError(f"the plate has no bead of {code}", field="swap")
    sources = np.flatnonzero(counts)
    sources = sources[np.argsort(plate.palette.oklab[sources, 0], kind="stable")]
    touching = usage_of(plate).touching[np.ix_(sources, sources)]
    rows = {row: fixed[index] for row, index in enumerate(sources.tolist()) if index in fixed}
    return Wanted(
        plate.palette, sources, counts[sources], touching, palette, limits, difference, rows
    )


def changes_between(old: Plate, new: Plate) -> tuple[Change, ...]:
    """What became of each colour of a plate, the largest difference first; cell by cell."""
    filled = old.filled & new.filled
    pairs, beads = np.unique(
        np.stack([old.cells[filled], new.cells[filled]]), axis=1, return_counts=True
    )
    off = delta_E_CIE2000(old.palette.lab[pairs[0]], new.palette.lab[pairs[1]])
    changes = [
        Change(old.palette.beads[one], new.palette.beads[two], int(count), float(difference))
        for one, two, count, difference in zip(*pairs.tolist(), beads, off, strict=True)
    ]
    return tuple(sorted(changes, key=lambda each: (-each.difference, -each.beads, each.old.code)))


def _too_few(wanted: Wanted) -> str:
    """Why no colour of its own was left for some, and the least that would have to be bought."""
    from scipy.optimize import linear_sum_assignment

    own, palette, sources = wanted.own, wanted.palette, wanted.sources
    owned = np.zeros(len(palette), np.int64) if wanted.limits is None else wanted.limits
    missing = np.maximum(wanted.counts[:, None] - owned, 0)
    off = delta_E_CIE2000(own.lab[sources][:, None], palette.lab[None])
    cost = missing + off * 1e-4
    for row, bead in wanted.fixed.items():
        cost[row, np.arange(len(palette)) != bead] = FORBIDDEN
    words = [
        f"{missing[row, column]:,} {palette.beads[column].code}"
        f" (for {own.beads[sources[row]].code})"
        for row, column in zip(*linear_sum_assignment(cost), strict=True)
        if missing[row, column]
    ]
    few = f"; the least to buy: {_named(words)}" if words else ""
    return (
        f"the beads that are there do not give each colour of the plate enough of one{few};"
        " or let rare colours go with `merge_rare`"
    )


def _notes(wanted: Wanted, found: Matched) -> tuple[str, ...]:
    """Say which colours go together, where lightness could not keep its order, and what is open."""
    own = [wanted.own.beads[index].code for index in wanted.sources]
    new = [wanted.palette.beads[bead].code for bead in found.beads]
    mains = [own[group[0]] for group in found.groups]
    notes = []
    if gone := [
        f"{', '.join(own[row] for row in group)} as {code}"
        for group, code in zip(found.groups, new, strict=True)
        if len(group) > 1
    ]:
        notes.append(f"colours that go together: {_named(gone, '; ')}")
    if broken := found.assigned.broken:
        named = _named([f"{mains[two]} than {mains[one]}" for one, two in broken])
        notes.append(f"not lighter any more: {named}; nothing else is left")
    if not found.assigned.is_best:
        notes.append("there may be a better one: the search for it was stopped")
    return tuple(notes)


def _named(words: Sequence[str], between: str = ", ") -> str:
    """Some of them, and how many more."""
    more = len(words) - _MOST_NAMED
    return between.join(words[:_MOST_NAMED]) + (f" and {more} more" if more > 0 else "")
