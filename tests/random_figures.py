"""Random figures with all options together, for tests and for the bench."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import replace
from random import Random

import numpy as np
from figures_for_tests import PALETTE
from hypothesis import strategies as st
from roofs import roof_of
from scipy.ndimage import label

from img2plate.base.errors import FigureError
from img2plate.solid.box.build import Figure
from img2plate.solid.box.judged import exceptions_of, solids_of
from img2plate.solid.check.rules import check
from img2plate.solid.faces import FACES, FAR, NORMAL, OPPOSITE, Size, face_size
from img2plate.solid.spec import (
    DividerSpec,
    DoorSpec,
    FigureSpec,
    FinSpec,
    JoinSpec,
    OpeningSpec,
    PartSpec,
    RoofSpec,
    ShelfSpec,
)


@st.composite
def figures(draw: st.DrawFn, most: int = 13) -> FigureSpec:
    """A body of up to so many beads a side, now and then larger, with things of all kinds on it.

    Drawn from one number: drawing each choice by itself took as long as building the figures.
    """
    chance = Chance(draw(st.integers(0, 2**48)), draw(st.integers(min(7, most), most)))
    return chance.figure()


class Chance(Random):
    """Random figures. Most things are where they have room, so that most figures are built."""

    def __init__(self, seed: int, most: int) -> None:
        super().__init__(seed)
        self.most = most

    def once_in(self, times: int) -> bool:
        return self.random() * times < 1

    def figure(self) -> FigureSpec:
        has_door, has_roof = self.once_in(15), self.once_in(8)
        body = self.part("body", 14 if has_door else 9 if has_roof else 0)
        if has_roof:
            walls = {"front", "back", "left", "right"}
            openings = tuple(o for o in body.openings if o.face != "top")
            body = replace(body, lid="", lid_on="top", lid_to="", open=body.open - walls,
                           openings=openings)  # fmt: skip
        room = replace(body, open=body.open | {"top"}) if has_roof else body
        others, joins = self._beside(room)
        fins = self._fins(room) if self.once_in(2) else []
        doors = (self._door(body),) if has_door else ()
        roofs = self._roofs(body) if has_roof else ()
        return FigureSpec(
            "trial", PALETTE, (body, *others), joins, tuple(fins), doors=doors, roofs=roofs
        )

    def _roofs(self, body: PartSpec) -> tuple[RoofSpec, ...]:
        """A roof to any side of the body, or none where nothing slopes over it."""
        low = self.choice(("front", "back", "left", "right"))
        try:
            return (roof_of(body, low=low, pitched=self.once_in(2), overhang=self.randint(0, 2)),)
        except FigureError:
            return ()

    def part(self, name: str, least: int = 0) -> PartSpec:
        """A box with any lid, open faces, holes, shelves, dividers and openings."""
        least = least or self.choice((3, 5, 7, 9))
        wide, deep, high = (self.randint(least, max(least, self.most)) for _ in range(3))
        size = wide, deep, high
        lid = self.choice(("", "", "", "lift", "lift", "slide" if least >= 9 else ""))
        lid_on = self.choice(FACES) if lid else "top"
        ways = [face for face in FACES if NORMAL[face] != NORMAL[lid_on]]
        gone: frozenset[str] = frozenset()
        if lid != "slide" and self.once_in(4):
            gone = frozenset(self.sample(sorted({*FACES} - {lid_on}), self.randint(1, 2)))
        inside = min(size) >= 9 and self.once_in(3)
        shelves = (ShelfSpec(self.randint(3, high - 4), 2),) if inside and self.once_in(2) else ()
        dividers: tuple[DividerSpec, ...] = ()
        if inside and not (shelves and self.once_in(2)):
            axes = self.choice(((0,), (1,), (0, 1)))
            up_to = shelves[0].level - 2 if shelves else self.choice((0, 0, 4))
            dividers = tuple(
                DividerSpec(axis, self.randint(3, size[axis] - 4), 2, up_to) for axis in axes
            )
        return PartSpec(
            name, size, cells=self._cells(size), open=gone, lid=lid, lid_on=lid_on, colour=1,
            lid_to=self.choice(["", *ways]) if lid == "slide" else "", shelves=shelves,
            dividers=dividers, openings=self._openings(size, gone),
            finger=self.choice((0, 0, 2, 4)),
        )  # fmt: skip

    def _cells(self, size: Size) -> dict[str, np.ndarray]:
        """Faces of a colour of their own, some with empty cells anywhere."""
        found = {}
        for face in self.sample(FACES, self.randint(0, 2)):
            wide, high = face_size(face, size)
            found[face] = np.full((high, wide), self.randint(0, 5), np.int16)
            if self.once_in(4):
                left, top = self.randrange(wide), self.randrange(high)
                across, down = self.randint(1, 4), self.randint(1, 4)
                found[face][top : top + down, left : left + across] = -1
        return found

    def _openings(self, size: Size, gone: frozenset[str]) -> tuple[OpeningSpec, ...]:
        if not self.once_in(4):
            return ()
        faces = self._roomy(size, [face for face in FACES if face not in gone], 1, 2)
        face = self.choice(faces) if faces else "front"
        return (OpeningSpec(face, (1, 2), self._at(size, face, 1, 2)),) if faces else ()

    def _roomy(self, size: Size, faces: Iterable[str], wide: int, high: int) -> list[str]:
        """Faces with room for something three beads from their edges; rarely all."""
        if self.once_in(20):
            return sorted(faces)
        sizes = {face: face_size(face, size) for face in sorted(faces)}
        return [f for f, (w, h) in sizes.items() if w >= wide + 6 and h >= high + 6]

    def _at(self, size: Size, face: str, wide: int, high: int) -> tuple[int, int]:
        """Where something has room on a face, three beads from its edges; rarely anywhere."""
        sides = face_size(face, size)
        if self.once_in(10):
            return self.randrange(sides[0]), self.randrange(sides[1])
        across, down = (
            self.randint(3, max(3, side - 3 - beads))
            for side, beads in zip(sides, (wide, high), strict=True)
        )
        return across, down

    def _beside(self, body: PartSpec) -> tuple[list[PartSpec], tuple[JoinSpec, ...]]:
        """Another part: on the body, plugged into it, inside, loose, or none."""
        kinds = ["alone", "plug", "loose"]
        kinds += ["on"] if "top" in body.faces and min(body.size[:2]) >= 7 else []
        kinds += ["inside"] if (body.lid or body.open) and min(body.size) > 5 else []
        kind = self.choice(kinds)
        if kind == "on":
            high = self.part("high", 9)
            x, y = ((body.size[a] - high.size[a]) // 2 + self.randint(-1, 1) for a in (0, 1))
            return [replace(high, at=(x, y, body.size[2]))], (self._join(),)
        if kind == "plug":
            return [self._plug(body)], ()
        if kind == "inside":
            wide, deep, tall = (self.randint(4, max(4, side - 2)) for side in body.size)
            tray = PartSpec("tray", (wide, deep, tall), (1, 1, 1), colour=3, inside="body",
                            open=frozenset({"top"}))  # fmt: skip
            return [tray], ()
        if kind == "loose":
            return [replace(self.part("other"), at=(body.size[0], 0, 0), loose=True)], ()
        return [], ()

    def _join(self) -> JoinSpec:
        kind = self.choice(("strip", "plus", "rod"))
        beads = {"strip": 3, "plus": 3, "rod": 1}[kind]
        return JoinSpec(
            "join 1", ("body", "top"), ("high", "bottom"), kind, beads, None, self.once_in(2),
            self.randint(2, 3), ears=kind != "rod" and self.once_in(2),
        )  # fmt: skip

    def _plug(self, body: PartSpec) -> PartSpec:
        size = [self.choice((2, 3, 4, 4, 5, 5, 6)) for _ in range(3)]
        faces = [f for f in sorted(body.faces) if all(
            body.size[a] >= size[a] + 6 or a == NORMAL[f] for a in range(3))]  # fmt: skip
        face = self.choice(faces or sorted(body.faces))
        axis = NORMAL[face]
        bar = {face, OPPOSITE[face]} if 2 in size or self.once_in(2) else set()
        if 2 in size:
            size = [max(side, 5) if side != 2 else 2 for side in size]
        at = [self.randint(3, max(3, side - n - 3))
              for side, n in zip(body.size, size, strict=True)]  # fmt: skip
        at[axis] = body.size[axis] if face in FAR else -size[axis]
        return PartSpec(
            "nose", (size[0], size[1], size[2]), (at[0], at[1], at[2]), colour=4,
            plug=("body", face), open=frozenset(bar),
        )  # fmt: skip

    def _door(self, body: PartSpec) -> DoorSpec:
        wall = self.choice(sorted(body.faces - {"top", "bottom"}) or ["front"])
        wide, high = face_size(wall, body.size)
        cells = np.full((self.randint(6, max(6, high - 8)), 6), 3, np.int16)
        at = self.randint(4, max(4, wide - 10)), 4
        return DoorSpec("door", ("body", wall), cells, at, self.choice(("left", "right")))

    def _fins(self, body: PartSpec) -> list[FinSpec]:
        """A fin, perhaps with a collar, or with another one across it."""
        upright, crossed = self.once_in(2), self.once_in(2)
        wide = self.choice((7, 8) if crossed else (4, 5, 6, 7, 8))
        across, down = (wide - 2, wide - 2 if crossed else 1)[:: -1 if upright else 1]
        faces = self._roomy(body.size, body.faces, across, down)
        if not faces:
            return []
        face = self.choice(faces)
        column, row = self._at(body.size, face, across, down)
        middle = wide // 2 - 1 if crossed else 0
        at = (column + middle, row - 1) if upright else (column - 1, row + middle)
        cells = np.full((self.randint(1, 6), wide), 5, np.int16)
        fin = FinSpec(
            "fin", ("body", face), cells, at, upright, self.choice((1, 1, 2, 5)), self.once_in(2),
            1 + (wide >= 8 and self.once_in(3)), not crossed and self.once_in(2),
        )  # fmt: skip
        if not crossed:
            return [fin]
        middle = wide // 2 * (1 - 2 * upright)
        other = replace(fin, name="fin 2", at=(at[0] + middle, at[1] - middle),
                        upright=not upright, cells=cells[self.randrange(len(cells)) :])  # fmt: skip
        return [fin, other]


def said_plainly(words: str) -> None:
    """A refusal names a thing of the figure, and no pattern of fingers."""
    things = ("body", "high", "nose", "tray", "other", "join 1", "fin", "door", "roof")
    assert any(thing in words for thing in things), words
    assert not re.search(r"\b[PQFN]{3,}\b", words), words


def assert_sound(made: Figure) -> None:
    """Each bead once, plates flat and in one piece, by numpy and scipy; all groups in the order.

    Plates that slope stand on no lattice; their own tests have an outside judge.
    """
    upright = [piece for piece in made.pieces if piece.turn is None]
    places = np.concatenate([piece.voxels for piece in upright])
    assert len(np.unique(places, axis=0)) == len(places)
    for piece in made.pieces:
        assert np.ptp(piece.voxels[:, piece.axis]) == 0
        assert label(piece.plate.filled)[1] == 1, piece.title
    rods = {rod.name for rod in made.rods}
    assert {s.name for s in made.report.orders[""]} == {p.group for p in made.pieces} | rods
    # A bead that one plate lost, or gained, is always seen.
    number = made.pieces.index(upright[len(places) % len(upright)])
    plates = solids_of(made.pieces, made.spec.model if made.roofs else None)
    voxels = plates[number].voxels
    allowed = exceptions_of(made.pieces, made.spec.parts, made.spec.joins)
    other = voxels[1:] if len(places) % 2 else np.concatenate([voxels, voxels[:1] + 100])
    plates[number] = replace(plates[number], voxels=other)
    assert check(plates, [places], allowed, made.rods).findings
