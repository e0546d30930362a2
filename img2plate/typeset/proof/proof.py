"""What stands on a proof sheet: variants and their figures."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from img2plate.colour.look_error import Looks
from img2plate.plate.plate import Plate

_FROM_A_DISTANCE = ("error", "similarity")
"""Figures that mean nothing beside one from another distance."""


class Metric(NamedTuple):
    """One figure of a variant."""

    key: str
    label: str
    value: float
    text: str


@dataclass(frozen=True, eq=False)
class Variant:
    """One plate on the sheet, with its figures."""

    number: int
    palette: str
    shading: str
    look: str
    """What the search aimed at; empty for other shadings."""
    plate: Plate
    far: NDArray[np.uint8]
    """(h m, w m, 3) sRGB as the eye resolves it from the viewing distance."""
    source: tuple[NDArray[np.uint8], NDArray[np.uint8]]
    """(h m, w m, 3) sRGB: the picture on its cells, near and from the viewing distance."""
    looks: Looks
    colours: int
    beads: int
    changes: int
    """Colour changes along rows."""
    boards: int
    missing: int | None = None
    """Beads that the stock does not have; None when no stock was given."""
    price: Decimal | None = None

    @property
    def how(self) -> str:
        """The shading, and what it aimed at."""
        return f"{self.shading}, {self.look}" if self.look else self.shading

    @property
    def distance(self) -> str:
        """From where it was judged, as printed."""
        return f"{self.looks.distance_m:.1f} m"

    @property
    def size(self) -> str:
        """Beads across and down."""
        return f"{self.plate.size[0]} x {self.plate.size[1]} beads"

    @property
    def figures(self) -> list[Metric]:
        """All figures; of each, less is better except for SSIM."""
        looks = self.looks
        from_there = f"{looks.error:.1f} from {self.distance}"
        found = [
            Metric("error", "Look error", looks.error, from_there),
            Metric("similarity", "SSIM", looks.similarity, f"{looks.similarity:.2f}"),
            Metric("specks", "Specks", looks.specks, f"{looks.specks:.0%}"),
            Metric("changes", "Colour changes", self.changes, f"{self.changes:,}"),
            Metric("colours", "Colours", self.colours, str(self.colours)),
            Metric("beads", "Beads", self.beads, f"{self.beads:,}"),
            Metric("boards", "Boards", self.boards, str(self.boards)),
        ]
        if self.missing is not None:
            found.append(Metric("missing", "Missing in stock", self.missing, f"{self.missing:,}"))
        if self.price is not None:
            found.append(Metric("price", "Price", float(self.price), f"{self.price:.2f}"))
        return found

    def as_json(self) -> dict[str, Any]:
        """Plain types."""
        figures = {figure.key: round(figure.value, 4) for figure in self.figures}
        return {
            "number": self.number,
            "palette": self.palette,
            "shading": self.shading,
            "look": self.look or None,
            "size": list(self.plate.size),
            **figures,
        }


@dataclass(frozen=True, eq=False)
class Proof:
    """All that stands on the sheet."""

    name: str
    largest: Variant
    """The one whose picture stands first."""
    variants: tuple[Variant, ...]
    failed: tuple[tuple[str, str], ...] = ()
    """What could not be made, and why."""

    def best(self) -> dict[str, list[int]]:
        """Numbers of the best variants on each figure; none where the best are alike as printed.

        Look error and SSIM are compared among variants that were judged from one distance, so that
        there may be a best one for each distance.
        """
        out: dict[str, list[int]] = {}
        for place, figure in enumerate(self.variants[0].figures):
            apart = figure.key in _FROM_A_DISTANCE
            groups: dict[str, list[Variant]] = {}
            for variant in self.variants:
                groups.setdefault(variant.distance if apart else "", []).append(variant)
            winners = (_winner(group, place) for group in groups.values())
            out[figure.key] = sorted(number for number in winners if number is not None)
        return out


def _winner(variants: list[Variant], place: int) -> int | None:
    """Number of the variant that is best on a figure, if it is better than others as printed."""
    figures = [variant.figures[place] for variant in variants]
    sign = -1 if figures[0].key == "similarity" else 1
    best = min(figures, key=lambda figure: sign * figure.value)
    shown = [figure.text for figure in figures]
    if len(shown) < 2 or shown.count(best.text) > 1:
        return None
    return variants[shown.index(best.text)].number
