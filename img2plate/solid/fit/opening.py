"""How many empty cells an object needs to pass: a coin, a card, a rod, a cable, a light."""

from __future__ import annotations

from dataclasses import dataclass
from math import isfinite

from img2plate.base.errors import OptionError
from img2plate.solid.fit.model import FitModel, Span, spans

CLEARANCE_MM = 0.5
"""Play to have at least, both ways; a guess, an option."""
MOST_CELLS = 400
MOULD_SHRINKAGE = (0.015, 0.05)
"""Moulded low-density polyethylene on cooling: 1.5 to 5% (help page of a mould-filling program,
2014)."""


@dataclass(frozen=True)
class Opening:
    """An opening for an object, in empty cells, at one thickness of the plate. Lengths in mm."""

    object_mm: tuple[float, float]
    """The object's width and thickness."""
    cells: tuple[int, int]
    """Empty cells, along the width and along the thickness."""
    size_mm: tuple[float, float]
    """Of the opening in the pressed plate."""
    passes: tuple[Span, ...]
    """Ranges of thickness at which the object still passes with its clearance, thin ones first."""

    @property
    def play_mm(self) -> tuple[float, float]:
        """How much wider and thicker the opening is than the object."""
        return self.size_mm[0] - self.object_mm[0], self.size_mm[1] - self.object_mm[1]

    @property
    def spare_shrink(self) -> float:
        """How much the plate may shrink on cooling until the object sticks, 0..1."""
        return 1 - max(
            part / whole for part, whole in zip(self.object_mm, self.size_mm, strict=True)
        )


def size_opening(
    model: FitModel,
    width_mm: float,
    deep_mm: float,
    thickness_mm: float,
    *,
    clearance_mm: float = CLEARANCE_MM,
) -> Opening:
    """Find the fewest empty cells through which `width_mm` x `deep_mm` passes with clearance.

    Raises OptionError for an object of no size or one that needs more than MOST_CELLS cells.
    """
    sizes = (width_mm, deep_mm, clearance_mm)
    if not (all(map(isfinite, sizes)) and min(width_mm, deep_mm) > 0 and clearance_mm >= 0):
        raise OptionError(
            f"{width_mm:g} x {deep_mm:g} mm with {clearance_mm:g} mm clearance is not an object",
            field="opening",
            remedy="give its width and thickness in mm, as 28x1.8",
        )
    cells = tuple(_cells_for(model, mm + clearance_mm, thickness_mm) for mm in (width_mm, deep_mm))
    return opening_of(model, (cells[0], cells[1]), (width_mm, deep_mm), thickness_mm, clearance_mm)


def opening_of(
    model: FitModel,
    cells: tuple[int, int],
    object_mm: tuple[float, float],
    thickness_mm: float,
    clearance_mm: float,
) -> Opening:
    """Describe an opening of given cells for an object."""
    size = model.opening_mm(cells[0], thickness_mm), model.opening_mm(cells[1], thickness_mm)
    sides = [(n, mm + clearance_mm) for n, mm in zip(cells, object_mm, strict=True)]
    steps = model.thicknesses()
    passing = [all(model.opening_mm(n, t) >= mm for n, mm in sides) for t in steps]
    return Opening(object_mm, cells, size, spans(steps, passing))


def _cells_for(model: FitModel, wanted_mm: float, thickness_mm: float) -> int:
    """Fewest cells whose slot is at least so long."""
    first = model.opening_mm(1, thickness_mm)
    more = (wanted_mm - first) / (model.pitch_mm * model.shrink)
    cells = 1 + max(0, int(more) + (more > int(more) + 1e-9))
    if cells > MOST_CELLS:
        raise OptionError(
            f"{wanted_mm:g} mm would take {cells} empty cells, at most {MOST_CELLS} are possible",
            field="opening",
            remedy="are these millimetres?",
        )
    return cells
