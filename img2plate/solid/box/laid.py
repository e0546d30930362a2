"""A part turned so that its sliding lid is on the top and comes out to the front.

Sliding lids are made that way alone; on another face, the arrays of the part's beads are looked at
along other axes, and what is written into such a view is written into the part.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from img2plate.solid.faces import FACES, FAR, NORMAL
from img2plate.solid.spec import PartSpec

Place = tuple[int, int, int]


@dataclass(frozen=True)
class Laid:
    """Which axes of a part are across, along and up where its lid is on the top."""

    axes: tuple[int, int, int] = (0, 1, 2)
    """For x, y and z as the lid lies, the part's own axis."""
    turned: tuple[bool, bool, bool] = (False, False, False)
    """Whether each runs the other way round."""

    @property
    def is_usual(self) -> bool:
        """Whether nothing is turned."""
        return self == Laid()

    def view(self, beads: NDArray[Any]) -> NDArray[Any]:
        """A view of an array (W, D, H) of the part."""
        ways = tuple(slice(None, None, -1 if turn else 1) for turn in self.turned)
        return beads.transpose(self.axes)[ways]

    def face(self, face: str) -> str:
        """What a face of the part is called there."""
        axis = self.axes.index(NORMAL[face])
        is_far = (face in FAR) != self.turned[axis]
        return next(f for f in FACES if NORMAL[f] == axis and (f in FAR) == is_far)

    def place(self, place: Place, spec: PartSpec) -> Place:
        """Where a bead of the part lies there."""
        found = [
            spec.size[axis] - 1 - place[axis] if turn else place[axis]
            for axis, turn in zip(self.axes, self.turned, strict=True)
        ]
        return found[0], found[1], found[2]

    def spec(self, spec: PartSpec) -> PartSpec:
        """The part as it lies: what its joints depend on, without its colours."""
        if self.is_usual:
            return spec
        size = tuple(spec.size[axis] for axis in self.axes)
        opened = set(map(self.face, spec.open | ({spec.plug_side} if spec.plug else set())))
        return replace(
            spec, size=(size[0], size[1], size[2]), open=frozenset(opened), plug=None,
            lid_on="top", lid_to="front", cells={},
        )  # fmt: skip


def laid(spec: PartSpec) -> Laid:
    """How a part has to be turned; not at all but for a sliding lid on another face."""
    if spec.lid != "slide":
        return Laid()
    up, along = NORMAL[spec.lid_on], NORMAL[spec.way_out]
    axes = (3 - up - along, along, up)
    return Laid(axes, (False, spec.way_out in FAR, spec.lid_on not in FAR))


def renumbered(
    owner: NDArray[np.int16], faces: Iterable[str], name: Callable[[str], str]
) -> NDArray[np.int16]:
    """(W, D, H) numbers of faces as they lie, to those of the part's own faces, -1 for none."""
    own = [face for face in FACES if face in set(faces)]
    lying = [face for face in FACES if face in {name(f) for f in own}]
    change = np.full(len(own) + 1, -1, dtype=np.int16)
    for number, face in enumerate(own):
        change[lying.index(name(face))] = number
    return change[owner]
