"""What the search aims at: from where it looks, by which meters, and what dots cost.

Constants were found by trying on photos (bench/bench_near_far.py). The near view by FLIP keeps flat
hues right at the table, the one from afar keeps bands away; S-CIELAB mixes colours for the
distance; the price on pairs of neighbours keeps dots down that no meter sees.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import exp, log

FLIP, S_CIELAB = "flip", "s-cielab"
CALM, BALANCED, TRUE = "calm", "balanced", "true"
LOOKS = (CALM, BALANCED, TRUE)
"""From the fewest dots to the truest tones across the room."""


@dataclass(frozen=True)
class Sight:
    """One view of the plate: a meter at a distance."""

    meter: str
    """FLIP (its colour part) or S_CIELAB."""
    metres: float
    weight: float
    """Of its mean difference over a cell."""
    side: int
    """Samples along a cell's side."""

    @property
    def has_ring(self) -> bool:
        """Whether its filters reach beyond the 3 x 3 cells around a bead."""
        return self.meter == S_CIELAB and self.metres > 0.6

    @property
    def sharpened(self) -> bool:
        """Whether it wants the picture a little sharpened: at the table drawing counts."""
        return self.metres < 1


@dataclass(frozen=True)
class PairPrice:
    """What two neighbours cost that differ more than the picture's own cells do.

    The excess e is |dL*| + `chroma` |dab| of the beads less that of the picture; where the beads'
    order of lightness is the picture's reversed, nothing is taken off.
    """

    plain: float
    """dE for each dE of e."""
    squared: float
    """dE for each dE squared."""
    chroma: float
    smooth: float = 0.0
    """How many times more it costs where the picture is smooth: there dots are seen most."""
    change: float = 0.0
    """dE for each change of colour along a row, whatever the picture has: what a hand pays.
    From about 2 on the plate gets streaks along its rows."""


@dataclass(frozen=True)
class Aim:
    """All that a plate is judged by during the search."""

    sights: tuple[Sight, ...]
    pairs: PairPrice
    speck_price: float
    """dE over one cell."""


FEW_PRICE = 14.0
"""dE a speck: leaves about 5% of them."""
_SIGHTS = (
    Sight(FLIP, 0.7, 1.0, 3),
    Sight(FLIP, 4.0, 1.0, 2),
    Sight(S_CIELAB, 0.5, 0.4, 3),
    Sight(S_CIELAB, 2.0, 0.5, 2),
    Sight(S_CIELAB, 4.0, 0.6, 2),
)
AIMS = {
    CALM: Aim(_SIGHTS, PairPrice(0.0, 0.004, 0.5, smooth=0.5, change=1.5), 13.0),
    BALANCED: Aim(_SIGHTS, PairPrice(0.0, 0.0015, 0.5, smooth=2.0), 4.6),
    TRUE: Aim(_SIGHTS, PairPrice(0.08, 0.0, 0.2), 3.0),
}
_OCTAVES = 1.5
"""Standard deviation, in doublings of the distance, over which a stated distance favours views."""


def aim_for(look: str, metres: float | None = None) -> Aim:
    """What a look aims at; `metres`: from where the plate is to be looked at above all."""
    aim = AIMS[look]
    if metres is None:
        return aim
    if look == TRUE:
        return replace(aim, sights=(Sight(S_CIELAB, metres, 1.0, 3),), pairs=PairPrice(0, 0, 0))
    return replace(aim, sights=_shifted(aim.sights, metres))


def _shifted(sights: tuple[Sight, ...], metres: float) -> tuple[Sight, ...]:
    """The same sum of weights, more of it near a distance; the outermost views follow it out."""
    low, high = min(s.metres for s in sights), max(s.metres for s in sights)
    near = [exp(-((log(min(max(metres, low), high) / s.metres) / log(2) / _OCTAVES) ** 2) / 2)
            for s in sights]  # fmt: skip
    scale = sum(s.weight for s in sights) / sum(
        s.weight * n for s, n in zip(sights, near, strict=True)
    )
    return tuple(
        replace(s, weight=s.weight * n * scale, metres=_follow(s.metres, metres, low, high))
        for s, n in zip(sights, near, strict=True)
    )


def _follow(own: float, metres: float, low: float, high: float) -> float:
    """A view's distance when the outermost follow a distance beyond them."""
    return metres if (own == high < metres) or (own == low > metres) else own
