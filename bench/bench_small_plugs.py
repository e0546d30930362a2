"""Can a closed part so small be plugged in at all? Tries every way to give its beads to its plates.

    python bench/bench_small_plugs.py [WIDE HIGH LAYERS]     (3 5 2)

All fingers that hold in the host (those of `tests/small_rings.py`), times all ways to give the
beads on edges above it to the walls or the cap. Plates in pieces and edges without a joint are
sifted out by tables over all ways at once; the checker judges what is left, by itself and in its
host. Prints how many ways were tried, what was left, and what stood against it.
"""

from __future__ import annotations

import argparse
import sys
from collections import Counter
from functools import cache
from itertools import pairwise, product
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "tests"))

import numpy as np
from scipy.ndimage import label
from small_rings import sound_rings

from img2plate.solid.check.lattice import Solid
from img2plate.solid.check.plugs import plug_findings
from img2plate.solid.check.rules import check

CAP = 5
AXES = {1: 0, 2: 0, 3: 1, 4: 1, CAP: 2}
"""Of the two walls across, the two along, and the cap."""
Cell = tuple[int, int]


class Nose:
    """A closed part, its cap at the highest level, its fingers at level 0."""

    def __init__(self, wide: int, high: int, out: int) -> None:
        self.wide, self.high, self.out = wide, high, out
        self.ring = [c for c in np.ndindex(wide, high) if self.walls(c)]
        self.corners = [c for c in self.ring if len(self.walls(c)) == 2]
        free = {(*c, z): self.walls(c) for c in self.corners for z in range(1, out)}
        free |= {(*c, out): [*self.walls(c), CAP] for c in self.ring}
        self.ways = int(np.prod([len(takers) for takers in free.values()]))
        number = np.arange(self.ways)
        self.of: dict[tuple[int, ...], np.ndarray] = {}
        """For each bead above the host, who has it, in each way."""
        for place, takers in free.items():
            self.of[place] = np.array(takers, np.int8)[number % len(takers)]
            number = number // len(takers)
        for c in set(self.ring) - set(self.corners):
            for z in range(1, out):
                self.of[(*c, z)] = np.full(self.ways, self.walls(c)[0], np.int8)
        for c in set(np.ndindex(wide, high)) - set(self.ring):
            self.of[(*c, out)] = np.full(self.ways, CAP, np.int8)

    def walls(self, cell: Cell) -> list[int]:
        """The walls that have a cell."""
        x, y = cell
        on = (x == 0, x == self.wide - 1, y == 0, y == self.high - 1)
        return [n for n, is_on in enumerate(on, 1) if is_on]

    def plate(self, who: int) -> list[list[tuple[int, ...]]]:
        """Rows of the places that a plate may have."""
        if who == CAP:
            return [[(x, y, self.out) for x in range(self.wide)] for y in range(self.high)]
        side = [c for c in self.ring if who in self.walls(c)]
        return [[(*c, z) for c in side] for z in range(self.out + 1)]

    def sifted(self, ring: dict[Cell, int]) -> np.ndarray:
        """Ways in which each plate is in one piece, and each edge has a step between its two."""
        fingers = {(*c, 0): np.full(self.ways, who, np.int8) for c, who in ring.items() if who}
        of = self.of | fingers
        good = np.ones(self.ways, dtype=bool)
        for who in AXES:
            rows = self.plate(who)
            bits = np.zeros(self.ways, np.int64)
            for n, place in enumerate(place for row in rows for place in row):
                bits |= np.where(of[place] == who, 1 << n, 0) if place in of else 0
            good &= whole(len(rows[0]), len(rows))[bits]
        edges = [([(*c, z) for z in range(self.out + 1)], self.walls(c)) for c in self.corners]
        edges += [([(*c, self.out) for c in self.ring if who in self.walls(c)], [who, CAP])
                  for who in AXES if who != CAP]  # fmt: skip
        for places, (one, two) in edges:
            steps = np.zeros(self.ways, dtype=bool)
            for a, b in pairwise(places):
                if a in of and b in of:
                    steps |= (of[a] == one) & (of[b] == two) | (of[a] == two) & (of[b] == one)
            good &= steps
        return np.flatnonzero(good)

    def reason(self, ring: dict[Cell, int], way: int) -> str:
        """What the checker says of a way; nothing when it holds."""
        beads: dict[int, list[tuple[int, ...]]] = {who: [] for who in AXES}
        for place, takers in self.of.items():
            beads[int(takers[way])].append(place)
        for cell, who in ring.items():
            if who:
                beads[who].append((*cell, 0))
        solids = [Solid(f"plate {n}", "nose", np.array(b), AXES[n]) for n, b in beads.items()]
        found = list(check(solids, [s.voxels for s in solids]).findings)
        around = product(range(-4, self.wide + 4), range(-4, self.high + 4))
        host = np.array([(*c, 0) for c in around if not ring.get(c)])
        found += plug_findings("nose", [*solids, Solid("host", "host", host, 2)])[0]
        return found[0].words if found else ""


@cache
def whole(wide: int, high: int) -> np.ndarray:
    """For each set of cells, as bits, whether it is in one piece."""
    sets = np.arange(1 << wide * high)
    cells = (sets[:, None] >> np.arange(wide * high)) & 1
    return np.array([label(c.reshape(high, wide))[1] == 1 for c in cells])


def main() -> None:
    """Try all ways."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("size", type=int, nargs="*", default=[3, 5, 2])
    wide, high, out = parser.parse_args().size
    nose = Nose(wide, high, out)
    rings = [np.frombuffer(r, np.int8).reshape(wide, high) for r in sound_rings(wide, high, 1)]
    left, good, reasons = 0, 0, Counter[str]()
    for found in sorted(rings, key=bytes):
        ring = {c: int(found[c]) for c in nose.ring}
        ways = nose.sifted(ring)
        left += len(ways)
        said = Counter(nose.reason(ring, int(way)) for way in ways)
        good += said.pop("", 0)
        reasons += said
    print(f"{wide} x {high} x {out}: {len(rings)} ways for its fingers times {nose.ways:,} for the"
          f" rest: {left} with whole plates and a joint at each edge, {good} hold")  # fmt: skip
    for reason, number in reasons.most_common(8):
        print(f"{number:6} {reason}")


if __name__ == "__main__":
    main()
