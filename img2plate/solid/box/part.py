"""One part: its beads, and the plate that each of them is of."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from img2plate.base.arrays import Cells, Mask
from img2plate.base.errors import FigureError
from img2plate.plate.plate import EMPTY
from img2plate.solid.box import tubes
from img2plate.solid.box.corners import CORNERS, Corner, Edge, Wishes, plan_edges
from img2plate.solid.box.cut import check_cut
from img2plate.solid.box.fingers import choose_finger, patterns
from img2plate.solid.box.laid import Place, laid, renumbered
from img2plate.solid.box.paint import Beads, paint
from img2plate.solid.faces import (
    FACES,
    FAR,
    NORMAL,
    Places,
    Size,
    edge_places,
    edges_of,
    face_places,
)
from img2plate.solid.spec import PartSpec

RAIL = 3
"""Layers from the top that a sliding lid takes: its own, and two of the rails that hold it down."""
NECK = 3
"""Beads at the back by which the rails hang on their walls, the back wall's among them."""


@dataclass(frozen=True, eq=False)
class Tips:
    """What is settled of a part before its joints are: see `plugs`."""

    empty: tuple[Place, ...] = ()
    """Places of the shell without a bead."""
    of: Mapping[Place, str] = field(default_factory=dict)
    """The face that some beads on edges go to."""
    ends: Mapping[Place, str] = field(default_factory=dict)
    """The face that an edge's last bead goes to, as a part of its fingers."""


@dataclass(frozen=True, eq=False)
class Panel:
    """A plate of a part before it is cut out: where its cells may lie."""

    name: str
    role: str
    """`wall`, `lid` (lifts off), `slide` or `shelf`."""
    seen: str
    """Face whose way of looking it takes."""
    places: Places


@dataclass(eq=False)
class Part:
    """A part while it is being built; `owner` names panels by their number."""

    spec: PartSpec
    panels: list[Panel]
    beads: Beads
    owner: NDArray[np.int16]
    """(W, D, H) int16, -1 where no bead is."""

    def kept(self, panel: int) -> Mask:
        """(h, w) where a panel has a bead."""
        return np.asarray(self.owner[self.panels[panel].places] == panel)

    def cells(self, panel: int) -> Cells:
        """(h, w) cells of a panel's plate."""
        return np.where(self.kept(panel), self.beads[self.panels[panel].places], EMPTY)

    def voxels(self, panel: int) -> NDArray[np.int64]:
        """(n, 3) int64 figure coordinates of a panel's beads."""
        kept = self.kept(panel)
        places = [axis[kept] for axis in self.panels[panel].places]
        return np.asarray(np.stack(places, axis=1) + self.spec.at)

    def find(self, face: str) -> int:
        """Number of the panel at a face. Raises FigureError when it is open."""
        for number, panel in enumerate(self.panels):
            if panel.name == face or (panel.role == "slide" and panel.seen == face):
                return number
        raise FigureError(f"part {self.spec.name} has no {face} plate to put anything into")

    def cut(self, panel: int, mask: Mask, what: str) -> None:
        """Take beads out of a panel (h, w). Raises FigureError when it would not hold."""
        check_cut(self.kept(panel), mask, what, f"{self.spec.name} {self.panels[panel].name}")
        places = self.panels[panel].places
        x, y, z = (axis[mask] for axis in places)
        self.beads[x, y, z] = EMPTY
        self.owner[x, y, z] = -1


def build_shell(spec: PartSpec, tips: Tips | None = None) -> Part:
    """Paint a part, give each bead to a plate, and put in a sliding lid.

    tips: beads that are settled already. Raises FigureError with what cannot be built, and where.
    """
    panels = [
        Panel(face, "lid" if face == spec.lid_on and spec.lid == "lift" else "wall", face,
              face_places(face, spec.size))
        for face in FACES if face in spec.faces
    ]  # fmt: skip
    painted = paint(spec, spec.faces | ({spec.lid_on} if spec.lid == "slide" else set()))
    tips = tips or Tips()
    if min(spec.size) == tubes.THICK:
        tips = Tips(tips.empty, {**tubes.settled(spec), **tips.of}, tips.ends)
    for place in tips.empty:
        painted[place] = EMPTY
    part = Part(spec, panels, painted, _lying_owners(spec, painted, tips))
    if spec.lid == "slide":
        _slide_lid(part)
    part.beads[part.owner < 0] = EMPTY
    part.owner[part.beads < 0] = -1
    return part


def _lying_owners(spec: PartSpec, painted: Beads, tips: Tips) -> NDArray[np.int16]:
    """(W, D, H) number of the face of each shell bead, found as the lid lies on the top."""
    turn = laid(spec)
    if turn.is_usual:
        return _owners(spec, painted, tips)
    owner = np.full(spec.size, -1, dtype=np.int16)
    of = {turn.place(place, spec): turn.face(face) for place, face in tips.of.items()}
    lying = _owners(turn.spec(spec), turn.view(painted), Tips(of=of))
    turn.view(owner)[...] = renumbered(lying, spec.faces, turn.face)
    return owner


def _owners(spec: PartSpec, painted: Beads, tips: Tips) -> NDArray[np.int16]:
    """(W, D, H) number of the face that each shell bead goes to."""
    number = {face: n for n, face in enumerate(f for f in FACES if f in spec.faces)}
    owner = np.full(spec.size, -1, dtype=np.int16)
    for face, n in number.items():
        owner[face_places(face, spec.size)] = n
    size, faces = _jointed(spec)
    lids = frozenset({spec.lid_on} if spec.lid == "lift" else set())
    wishes = Wishes(spec.finger, lids, _masks(painted, size, faces, tips), _settled(size, tips))
    try:
        edges = plan_edges(size, faces, wishes)
    except FigureError as error:
        raise FigureError(f"part {spec.name}: {error.reason}") from None
    for (one, two), planned in edges.items():
        letters = {"P": number[one], "Q": number[two]}
        word, box = planned, size
        if spec.lid == "slide" and one == "back" and two in ("left", "right"):
            word, box = _up_to_the_rails(planned, spec), spec.size
        x, y, z = edge_places(one, two, box)
        mine = np.array([letter in letters for letter in word])
        owner[x[mine], y[mine], z[mine]] = [letters[letter] for letter in word if letter in letters]
    return owner


def _masks(
    beads: Beads, size: Size, faces: frozenset[str], tips: Tips
) -> tuple[tuple[Edge, str], ...]:
    """Edges with gaps, or with beads that only one of the two plates can hold."""
    found = []
    for one, two in edges_of(faces):
        places = edge_places(one, two, size)
        there = beads[places] >= 0
        held = [beads[_beside(places, beyond)] >= 0 for beyond in (two, one)]
        mask = np.where(held[0] == held[1], "*", np.where(held[0], "P", "Q"))
        for end, third in zip((0, -1), _ends(one, two), strict=True):
            if third in faces:  # what is beside a corner may be of a third plate
                mask[end] = "*"
        mask[~there] = "-"
        if tips.of or tips.ends:
            for i, place in enumerate(zip(*(axis.tolist() for axis in places), strict=True)):
                is_end = i in (0, len(mask) - 1) and _ends(one, two)[i > 0] in faces
                if tips.of.get(place) in (one, two) and not is_end:  # corners: see `_settled`
                    mask[i] = "P" if tips.of[place] == one else "Q"
                elif place in tips.ends:
                    mask[i] = "p" if tips.ends[place] == one else "q"
        word = "".join(mask.tolist())
        if set(word) != {"*"}:
            found.append(((one, two), word))
    return tuple(found)


def _settled(size: Size, tips: Tips) -> tuple[tuple[Corner, str], ...]:
    """The corners of a box among the beads that are settled."""
    far = {tuple(side - 1 if at else 0 for side, at in zip(size, corner, strict=True)): corner
           for corner in CORNERS}  # fmt: skip
    return tuple((far[place], face) for place, face in tips.of.items() if place in far)


def _ends(one: str, two: str) -> tuple[str, str]:
    """The faces at the near and the far end of the edge of two others."""
    near, far = (f for f in sorted(FACES, key=FAR.__contains__)
                 if NORMAL[f] == 3 - NORMAL[one] - NORMAL[two])  # fmt: skip
    return near, far


def _beside(places: Places, beyond: str) -> Places:
    """Places one bead off an edge, away from the face that it shares with another."""
    moved = list(places)
    moved[NORMAL[beyond]] = places[NORMAL[beyond]] + (-1 if beyond in FAR else 1)
    return moved[0], moved[1], moved[2]


def _jointed(spec: PartSpec) -> tuple[Size, frozenset[str]]:
    """The box whose edges get joints: below a sliding lid the walls stand free."""
    width, depth, height = spec.size
    if spec.lid != "slide":
        return spec.size, spec.faces
    if {"front", "back", "left", "right"} & spec.open or width < 6 or depth < 8 or height < 8:
        raise FigureError(
            f"part {spec.name}: a sliding lid needs the four walls round it, and at least 6 beads"
            " across its way, 8 along it and 8 below it; make the part larger, or say"
            ' `lid = "lift"`'
        )
    return (width, depth, height - RAIL), spec.faces


def _up_to_the_rails(word: str, spec: PartSpec) -> str:
    """The pattern of an edge of the back wall, which is as high as the rails of a sliding lid."""
    finger = spec.finger or choose_finger(spec.size[2])
    return patterns(spec.size[2], word[0], "N", finger)[0]


def _slide_lid(part: Part) -> None:
    """Put in a lid that slides out, in slots of the two walls beside it.

    Seen from where it comes out:  R.....R  two layers of rail, part of the walls, open there
                                   LLLLLLL  lid, its outer beads in the walls' slots
                                   wFFFFFw  walls
    """
    turn = laid(part.spec)
    owner, beads = turn.view(part.owner), turn.view(part.beads)
    width, depth, height = owner.shape
    level = height - RAIL
    number = {turn.face(panel.name): n for n, panel in enumerate(part.panels)}
    owner[:, 0, level:] = -1
    for x, side in ((0, "left"), (width - 1, "right")):
        owner[x, :-1, level:] = number[side]
    lid, face = len(part.panels), part.spec.lid_on
    at = level if face in FAR else RAIL - 1
    part.panels.append(Panel("lid", "slide", face, face_places(face, part.spec.size, at)))
    owner[1:-1, : depth - 1, level] = lid
    owner[:, : depth - NECK, level] = lid
    top = beads[:, :, height - 1].copy()
    beads[1:-1, : depth - 1, level] = top[1:-1, : depth - 1]
    beads[1:-1, 1 : depth - 1, height - 1] = EMPTY
