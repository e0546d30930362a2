"""Random figures with all options together, for tests and for the bench."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
from figures_for_tests import PALETTE, solids
from hypothesis import strategies as st
from scipy.ndimage import label

from img2plate.solid.box.build import Figure, exceptions_of
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
    ShelfSpec,
)

_Draw = st.DrawFn


@st.composite
def figures(draw: _Draw, most: int = 13) -> FigureSpec:
    """A body of up to so many beads a side, and up to one of each kind of thing beside it."""
    body = draw(parts("body", most))
    kinds = ["alone", "plug", "loose"]
    kinds += ["on"] if "top" in body.faces else []
    kinds += ["inside"] if body.lid or body.open else []
    kind = draw(st.sampled_from(kinds))
    others, joins = [], []
    if kind == "on":
        high = draw(parts("high", most))
        x, y = ((body.size[a] - high.size[a]) // 2 + draw(st.integers(-1, 1)) for a in (0, 1))
        others.append(replace(high, at=(x, y, body.size[2])))
        joins.append(draw(_joins()))
    elif kind == "plug":
        others.append(draw(_plugs(body)))
    elif kind == "inside":
        room = [max(4, side - 2) for side in body.size]
        wide, deep, tall = (draw(st.integers(4, side)) for side in room)
        tray = PartSpec(
            "tray", (wide, deep, tall), (1, 1, 1), colour=3, open=frozenset({"top"}), inside="body"
        )
        others.append(tray)
    elif kind == "loose":
        others.append(replace(draw(parts("other", most)), at=(body.size[0], 0, 0), loose=True))
    fins = draw(_fins(body)) if draw(st.integers(0, 2)) == 0 else []
    doors: tuple[DoorSpec, ...] = ()
    if min(body.size) >= 10 and draw(st.integers(0, 3)) == 0:
        doors = (draw(_doors(body)),)
    return FigureSpec("trial", PALETTE, (body, *others), tuple(joins), tuple(fins), doors=doors)


def _sizes(least: int, most: int) -> st.SearchStrategy[Size]:
    side = st.integers(least, most)
    return st.tuples(side, side, side)


@st.composite
def parts(draw: _Draw, name: str, most: int) -> PartSpec:
    """A box with any lid, open faces, holes, shelves, dividers and openings."""
    least = draw(st.sampled_from((3, 7, 8, 9)))
    size = draw(_sizes(least, most))
    lids = ("", "", "", "lift", "lift", "slide") if least >= 8 else ("", "", "lift")
    lid = draw(st.sampled_from(lids))
    lid_on = draw(st.sampled_from(FACES)) if lid else "top"
    ways = sorted(face for face in FACES if NORMAL[face] != NORMAL[lid_on])
    lid_to = draw(st.sampled_from(["", *ways])) if lid == "slide" else ""
    rarely = st.integers(0, 3).map(lambda n: n == 0)
    few = st.sets(st.sampled_from(sorted(set(FACES) - {lid_on})), max_size=2)
    gone = frozenset(draw(few)) if lid != "slide" and draw(rarely) else frozenset()
    cells = {}
    for face in draw(st.sets(st.sampled_from(FACES), max_size=2)):
        wide, high = face_size(face, size)
        cells[face] = np.full((high, wide), draw(st.integers(0, 5)), np.int16)
        if draw(rarely):
            left, top = draw(st.integers(0, wide - 1)), draw(st.integers(0, high - 1))
            across, down = draw(st.integers(1, 4)), draw(st.integers(1, 4))
            cells[face][top : top + down, left : left + across] = -1
    roomy = min(size) >= 8 and draw(rarely)
    shelves = (ShelfSpec(draw(st.integers(2, size[2] - 3)), 2),) if roomy else ()
    dividers = tuple(
        DividerSpec(axis, draw(st.integers(3, size[axis] - 4)), 2, draw(st.sampled_from((0, 0, 4))))
        for axis in (
            draw(st.sampled_from(((0,), (1,), (0, 1)))) if min(size) >= 8 and draw(rarely) else ()
        )
    )
    openings: tuple[OpeningSpec, ...] = ()
    if draw(rarely):
        place = draw(st.sampled_from((None, (3, 3))))
        openings = (OpeningSpec(draw(st.sampled_from(sorted(set(FACES) - gone))), (1, 2), place),)
    return PartSpec(
        name, size, cells=cells, open=gone, lid=lid, lid_on=lid_on, colour=1, shelves=shelves,
        dividers=dividers, openings=openings, finger=draw(st.sampled_from((0, 0, 2, 4))),
        lid_to=lid_to,
    )  # fmt: skip


@st.composite
def _joins(draw: _Draw) -> JoinSpec:
    kind = draw(st.sampled_from(("strip", "plus", "rod")))
    beads = {"strip": 3, "plus": 3, "rod": 1}[kind]
    return JoinSpec(
        "join 1", ("body", "top"), ("high", "bottom"), kind, beads, None, draw(st.booleans()),
        draw(st.integers(2, 3)), ears=kind != "rod" and draw(st.booleans()),
    )  # fmt: skip


@st.composite
def _plugs(draw: _Draw, body: PartSpec) -> PartSpec:
    face = draw(st.sampled_from(sorted(body.faces)))
    axis = NORMAL[face]
    size = [draw(st.integers(2, 6)) for _ in range(3)]
    at = [draw(st.integers(3, max(3, side - n - 3)))
          for side, n in zip(body.size, size, strict=True)]  # fmt: skip
    at[axis] = body.size[axis] if face in FAR else -size[axis]
    bar = {face, OPPOSITE[face]} if draw(st.booleans()) or 2 in size else set()
    return PartSpec(
        "nose", (size[0], size[1], size[2]), (at[0], at[1], at[2]), colour=4, plug=("body", face),
        open=frozenset(bar),
    )  # fmt: skip


@st.composite
def _doors(draw: _Draw, body: PartSpec) -> DoorSpec:
    wall = draw(st.sampled_from(sorted(body.faces - {"top", "bottom"}) or ["front"]))
    wide, high = face_size(wall, body.size)
    cells = np.full((draw(st.integers(6, max(6, high - 6))), 6), 3, np.int16)
    at = draw(st.integers(3, max(3, wide - 9))), 3
    return DoorSpec("door", ("body", wall), cells, at, draw(st.sampled_from(("left", "right"))))


@st.composite
def _fins(draw: _Draw, body: PartSpec) -> list[FinSpec]:
    """A fin, perhaps with a collar, or with another one across it."""
    face = draw(st.sampled_from(sorted(body.faces)))
    cells = np.full((draw(st.integers(1, 6)), draw(st.sampled_from((4, 5, 6, 7, 8)))), 5, np.int16)
    at = draw(st.integers(2, 4)), draw(st.integers(2, 4))
    fin = FinSpec(
        "fin", ("body", face), cells, at, draw(st.booleans()), draw(st.integers(1, 5)),
        draw(st.booleans()), 1 + (cells.shape[1] >= 8 and draw(st.booleans())),
        draw(st.booleans()),
    )  # fmt: skip
    if fin.collar or not draw(st.booleans()):
        return [fin]
    middle = cells.shape[1] // 2 * (1 - 2 * fin.upright)
    other = replace(fin, name="fin 2", at=(at[0] + middle, at[1] - middle), upright=not fin.upright)
    return [fin, replace(other, cells=cells[draw(st.integers(0, len(cells) - 1)) :])]


def said_plainly(words: str) -> None:
    """A refusal names a thing of the figure, and no pattern of fingers."""
    things = ("body", "high", "nose", "tray", "other", "join 1", "fin", "door")
    assert any(thing in words for thing in things), words
    assert not re.search(r"\b[PQFN]{3,}\b", words), words


def assert_sound(made: Figure) -> None:
    """Each bead once, plates flat and in one piece, by numpy and scipy; all groups in the order."""
    places = np.concatenate([piece.voxels for piece in made.pieces])
    assert len(np.unique(places, axis=0)) == len(places) == made.bead_count
    for piece in made.pieces:
        assert np.ptp(piece.voxels[:, piece.axis]) == 0
        assert label(piece.plate.filled)[1] == 1, piece.title
    rods = {rod.name for rod in made.rods}
    assert {s.name for s in made.report.orders[""]} == {p.group for p in made.pieces} | rods
    # A bead that one plate lost, or gained, is always seen.
    plate = len(places) % len(made.pieces)
    plates = solids(made)
    voxels = plates[plate].voxels
    allowed = exceptions_of(made.pieces, made.spec.parts, made.spec.joins)
    for other in (voxels[1:], np.concatenate([voxels, voxels[:1] + 100]))[len(places) % 2 :][:1]:
        changed = [*plates]
        changed[plate] = type(plates[plate])(
            plates[plate].name, plates[plate].group, other, plates[plate].axis
        )
        assert check(changed, [places], allowed, made.rods).findings
