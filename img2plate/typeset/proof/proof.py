"""What stands on a proof sheet: variants and their figures."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from img2plate.colour.look_error import Looks
from img2plate.plate.plate import Plate


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
    plate: Plate
    far: NDArray[np.uint8]
    """(h m, w m, 3) sRGB as the eye resolves it from the viewing distance."""
    source: tuple[NDArray[np.uint8], NDArray[np.uint8]]
    """(h m, w m, 3) sRGB: the picture on its cells, near and from the viewing distance."""
    looks: Looks
    colours: int
    beads: int
    boards: int
    missing: int | None = None
    """Beads that the stock does not have; None when no stock was given."""
    price: Decimal | None = None

    @property
    def figures(self) -> list[Metric]:
        """All figures; of each, less is better except for SSIM."""
        looks = self.looks
        from_there = f"{looks.error:.1f} from {looks.distance_m:.1f} m"
        found = [
            Metric("error", "Look error", looks.error, from_there),
            Metric("similarity", "SSIM", looks.similarity, f"{looks.similarity:.2f}"),
            Metric("specks", "Specks", looks.specks, f"{looks.specks:.0%}"),
            Metric("colours", "Colours", self.colours, str(self.colours)),
            Metric("beads", "Beads", self.beads, f"{self.beads:,}"),
            Metric("boards", "Boards", self.boards, str(self.boards)),
        ]
        if self.missing is not None:
            found.append(Metric("missing", "Missing in stock", self.missing, f"{self.missing:,}"))
        if self.price is not None:
            found.append(Metric("price", "Price", float(self.price), str(self.price)))
        return found

    def as_json(self) -> dict[str, Any]:
        """Plain types."""
        figures = {figure.key: round(figure.value, 4) for figure in self.figures}
        return {
            "number": self.number,
            "palette": self.palette,
            "shading": self.shading,
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
        """Numbers of the best variants on each figure; none where all are alike."""
        out: dict[str, list[int]] = {}
        for place, figure in enumerate(self.variants[0].figures):
            values = {v.number: round(v.figures[place].value, 4) for v in self.variants}
            least = max(values.values()) if figure.key == "similarity" else min(values.values())
            found = [number for number, value in values.items() if value == least]
            out[figure.key] = found if len(found) < len(values) else []
        return out
