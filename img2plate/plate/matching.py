"""Which bead each colour of a plate gets in another palette, and which colours go together.

Colours are rows of groups: those of a group get one bead. Given the groups, the beads are the best
there are (see `in_order`); the groups are found step by step: as long as the sum falls, the colour
that costs most goes with another, which costs what they differ. So colours go together only where
keeping them apart would move one further than they differ.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from img2plate.base.arrays import Floats, Mask
from img2plate.base.errors import OptionError
from img2plate.colour.companions import NEAREST, STEP, same_hue
from img2plate.colour.difference import delta_E_CIE2000, delta_E_HyAB
from img2plate.colour.palette import Palette
from img2plate.plate.in_order import FORBIDDEN, Assigned, Pair, assign_in_order

FORMULAS = {"hyab": delta_E_HyAB, "ciede2000": delta_E_CIE2000}
"""HyAB comes first: it is made for large differences, where CIEDE2000 takes a dull rose for a vivid
pink."""
OTHER_FINISH = 5.0
"""A bead of another finish counts as that much further off; by eye."""
_TRIED = 6
"""Colours that are tried to go with another, those that cost most."""
Groups = tuple[tuple[int, ...], ...]
"""Rows that get one bead, the main one first."""


@dataclass(frozen=True, eq=False)
class Wanted:
    """The colours of a plate, dark to light, and the beads that there are."""

    own: Palette
    sources: NDArray[np.intp]
    """(m,) indices in `own`."""
    counts: NDArray[np.int64]
    """(m,) beads of each."""
    touching: Mask
    """(m, m) whether two lie side by side."""
    palette: Palette
    limits: NDArray[np.int64] | None
    """(n,) most beads of each; None for no end of them."""
    difference: str
    """hyab or ciede2000."""
    fixed: Mapping[int, int]
    """Rows whose bead is known, and that bead."""


@dataclass(frozen=True, eq=False)
class Matched:
    """A bead for each colour."""

    groups: Groups
    beads: NDArray[np.intp]
    """Of each group, in the palette."""
    price: float
    """What all of it costs, colours that go together with it."""
    assigned: Assigned
    pairs: tuple[Pair, ...]
    """Groups of which the first was to stay darker."""


class Matcher:
    """Finds beads for groups of colours."""

    def __init__(self, wanted: Wanted) -> None:
        """Work out what stays the same for all groups."""
        own, palette, sources = wanted.own, wanted.palette, wanted.sources
        self.wanted = wanted
        self.weight = np.sqrt(wanted.counts) / np.sqrt(wanted.counts).sum()
        self.look = np.unique(palette.srgb, axis=0, return_inverse=True)[1].reshape(-1)
        there = np.ones(len(palette), np.bool_) if wanted.limits is None else wanted.limits > 0
        self.offered = np.unique(self.look[there])
        light = np.array([palette.oklab[self.look == each, 0][0] for each in self.offered])
        self.rank = np.unique(light.round(6), return_inverse=True)[1].reshape(-1)
        finish = [np.array([bead.finish for bead in each.beads]) for each in (own, palette)]
        code = [np.array([bead.code for bead in each.beads]) for each in (own, palette)]
        lab, formula = own.lab[sources], _formula(wanted.difference)
        self.off = formula(lab[:, None], palette.lab[None])
        self.off = self.off + OTHER_FINISH * (finish[0][sources][:, None] != finish[1])
        # Of codes of one colour the one that is called the same.
        self.off = self.off + 1e-4 * (code[0][sources][:, None] != code[1])
        self.between = formula(lab[:, None], lab[None])
        self.before = _before(wanted)

    def single(self) -> Groups:
        """Every colour by itself, as far as there are as many on offer."""
        groups: Groups = tuple((row,) for row in range(len(self.wanted.sources)))
        while len(groups) > max(1, len(self.offered)):
            # Two different beads for two fixed colours: never together.
            costs = [
                (self.weight[list(group)].sum() * self.between[group[0], other[0]], gone, stays)
                for gone, group in enumerate(groups)
                for stays, other in enumerate(groups)
                if gone != stays and group[0] not in self.wanted.fixed
            ]
            _, gone, stays = min(costs)
            groups = _joined(groups, gone, stays)
        return groups

    def match(self, groups: Groups) -> Matched | None:
        """The best beads for groups; None when some have none with enough beads."""
        beads, price = self._offers(groups)
        mains = np.array([group[0] for group in groups])
        before = self.before[np.ix_(mains, mains)]
        pairs = [(int(one), int(two)) for one, two in np.argwhere(np.triu(before, 1))]
        found = assign_in_order(price, self.rank, pairs)
        if found is None:
            return None
        lost = sum(
            self.weight[row] * self.between[row, group[0]] for group in groups for row in group
        )
        chosen = beads[np.arange(len(groups)), found.columns]
        return Matched(groups, chosen, found.price + float(lost), found, tuple(pairs))

    def together(self, best: Matched) -> Matched:
        """Let colours go together as long as that costs less."""
        while len(best.groups) > 1:
            cost = [
                self.weight[list(group)] @ self.off[list(group), bead]
                if not set(group) & self.wanted.fixed.keys()
                else 0.0
                for group, bead in zip(best.groups, best.beads, strict=True)
            ]
            ways = [
                found
                for gone in np.argsort(cost)[::-1][:_TRIED].tolist()
                if cost[gone] > 0
                and (found := self.match(_joined(best.groups, gone, self._nearest(best, gone))))
            ]
            better = min(ways, key=_rank_of, default=best)
            if _rank_of(better) >= _rank_of(best):
                break
            best = better
        return best

    def _nearest(self, best: Matched, gone: int) -> int:
        """The group that a group had best go with: by what it would become and what is lost."""
        rows = np.array(best.groups[gone])
        weight = self.weight[rows]
        mains = np.array([group[0] for group in best.groups])
        cost = (
            weight @ self.off[np.ix_(rows, best.beads)] + weight @ self.between[np.ix_(rows, mains)]
        )
        cost[gone] = np.inf
        return int(np.argmin(cost))

    def _offers(self, groups: Groups) -> tuple[NDArray[np.intp], NDArray[np.float64]]:
        """(g, k) the bead of each group in each colour on offer, and its price.

        Of codes of one colour the best that has enough beads.
        """
        wanted, size = self.wanted, len(self.wanted.palette)
        price = np.empty((len(groups), size))
        for place, group in enumerate(groups):
            rows = list(group)
            price[place] = self.weight[rows] @ self.off[rows]
            if wanted.limits is not None:
                price[place, wanted.limits < wanted.counts[rows].sum()] = FORBIDDEN
            for row in set(group) & wanted.fixed.keys():
                price[place, np.arange(size) != wanted.fixed[row]] = FORBIDDEN
        beads = np.empty((len(groups), len(self.offered)), np.intp)
        for column, each in enumerate(self.offered.tolist()):
            members = np.flatnonzero(self.look == each)
            beads[:, column] = members[price[:, members].argmin(axis=1)]
        return beads, np.take_along_axis(price, beads, axis=1)


def _formula(name: str) -> Callable[[Floats, Floats], Floats]:
    """How colours are compared. Raises OptionError for an unknown name."""
    if name not in FORMULAS:
        raise OptionError(f"is none of {', '.join(FORMULAS)}", field="difference", value=name)
    return FORMULAS[name]


def _before(wanted: Wanted) -> Mask:
    """(m, m) whether one colour is to stay darker than another.

    Shades of one hue, and colours side by side that are a step of lightness apart.
    """
    light = wanted.own.oklab[wanted.sources, 0]
    rise = light - light[:, None]
    alike = same_hue(wanted.own)[np.ix_(wanted.sources, wanted.sources)]
    return np.asarray((alike & (rise >= NEAREST)) | (wanted.touching & (rise >= STEP)))


def _joined(groups: Groups, gone: int, stays: int) -> Groups:
    """Groups of which one went with another; still dark to light by their main colours."""
    both = groups[stays] + groups[gone]
    return tuple(
        both if place == stays else group for place, group in enumerate(groups) if place != gone
    )


def _rank_of(matched: Matched) -> tuple[int, float]:
    """The fewer pairs broken the better, then the cheaper."""
    return len(matched.assigned.broken), matched.price
