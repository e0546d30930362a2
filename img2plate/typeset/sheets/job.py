"""What all tile pages of a plate share."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

from img2plate.plate.plate import Plate
from img2plate.split.tiles import Split, Tile
from img2plate.typeset.sheets.geometry import Page, Part
from img2plate.typeset.sheets.printing import Printing
from img2plate.typeset.sheets.sheet import Sheet


@dataclass(frozen=True, eq=False)
class Job:
    """A plate, how it is cut, and how it is printed."""

    plate: Plate
    split: Split
    symbols: dict[int, str]
    page: Page
    printing: Printing
    rounds: dict[Tile, int] = field(default_factory=dict)
    """Number of the round in which a tile is built; empty when all boards are at hand."""
    empty: frozenset[str] = frozenset()
    """Names of the tiles without beads."""
    title: str = ""
    """Large name of the plate, when it is one of several; tiles of one board then need no name."""
    is_as_laid: bool = False
    """Whether the plate's cells are as they lie on the board already, the front down or not."""
    more: Callable[[Sheet, Part, str], None] | None = None
    """Draws what belongs on each page besides, such as letters of joints; told the large name."""

    @property
    def is_mirrored(self) -> bool:
        """Whether the plate's columns run the other way on the board."""
        return self.printing.mirrored and not self.is_as_laid

    def name_of(self, tile: Tile) -> str:
        """Large name on a tile's page: of a plate on one board, the plate's own."""
        if len(self.split.tiles) == 1:
            return self.title or self.plate.name
        return f"{self.title} {tile.name}".strip()
