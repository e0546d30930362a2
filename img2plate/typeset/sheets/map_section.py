"""What part of a plate a map shows, and where on the page its pegs are."""

from __future__ import annotations

from dataclasses import dataclass

from img2plate.split.tiles import Tile

Box = tuple[float, float, float, float]
"""Left, top, width and height, mm."""


@dataclass(frozen=True)
class Section:
    """Pegs of the plate that are shown, and where."""

    x: int
    y: int
    width: int
    height: int
    left: float
    top: float
    step: float
    """Millimetres a peg."""
    mirrored: bool

    @property
    def size(self) -> tuple[float, float]:
        """Width and height on the page, mm."""
        return self.width * self.step, self.height * self.step

    def across(self, peg: float) -> float:
        """Place on the page of a peg column's left edge (of the plate)."""
        at = self.x + self.width - peg if self.mirrored else peg - self.x
        return self.left + self.step * at

    def down(self, peg: float) -> float:
        """Place on the page of a peg row's upper edge."""
        return self.top + self.step * (peg - self.y)

    def holds(self, tile: Tile) -> bool:
        """Whether a tile lies in it."""
        inside_x = self.x <= tile.x < self.x + self.width
        return inside_x and self.y <= tile.y < self.y + self.height

    def box(self, tile: Tile) -> Box:
        """Where a tile is drawn."""
        x, x_end = sorted((self.across(tile.x), self.across(tile.x + tile.width)))
        y, y_end = self.down(tile.y), self.down(tile.y + tile.height)
        return x, y, x_end - x, y_end - y
