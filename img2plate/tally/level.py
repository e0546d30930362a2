"""How difficult a plate is to build: points for what it takes, and a word for their sum.

    points      0           1            2
    beads       up to 400   up to 2,000  more
    colours     up to 6     up to 16     more
    specks      up to 2 %   up to 8 %    more    (beads with no neighbour of their own colour)
    boards      1           up to 4      more
    thin places none        up to 3      more    (where the plate hangs by little)
    plates      up to 6     up to 24     more    (of a figure, which has no boards and thin places)
    joints      up to 12    up to 60     more

The limits are our own judgement: no source.
"""

from __future__ import annotations

from dataclasses import dataclass

LIMITS = {
    "beads": (400, 2000),
    "colours": (6, 16),
    "specks": (2, 8),
    "boards": (1, 4),
    "thin places": (0, 3),
    "plates": (6, 24),
    "joints": (12, 60),
}
"""Up to the first no point, up to the second one, above two; specks in per cent of the beads."""
WORDS = ((1, "For a first plate"), (3, "Easy"), (6, "Takes patience"), (10, "Demanding"))
"""The most points of each level, and its name."""


@dataclass(frozen=True)
class Level:
    """How difficult a plate is."""

    values: dict[str, float]
    """What was counted, as in `LIMITS`; what is not known is left out."""

    @property
    def points(self) -> dict[str, int]:
        """0 to 2 for each."""
        return {
            name: sum(value > limit for limit in LIMITS[name])
            for name, value in self.values.items()
        }

    @property
    def total(self) -> int:
        """All points, 0 to 10."""
        return sum(self.points.values())

    @property
    def number(self) -> int:
        """1 to 4."""
        return 1 + sum(self.total > most for most, _ in WORDS[:-1])

    @property
    def words(self) -> str:
        """Its name."""
        return WORDS[self.number - 1][1]
