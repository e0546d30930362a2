"""Parts two beads thick: bars of four walls, open at both ends, with nothing between them.

The two wide walls lie against each other and have the ends of all edges; the narrow ones are clips
round their middle. Of 2 x 2 beads no two walls are wider: there the clips sit at different heights,
so that each of the other two hangs together beside them.
"""

from __future__ import annotations

from img2plate.base.errors import FigureError
from img2plate.solid.faces import FACES, FAR, NORMAL, edge_places
from img2plate.solid.spec import PartSpec

THICK = 2
LEAST_LONG, LEAST_LONG_SQUARE, MOST_LONG = 3, 5, 12
"""Beads that a bar is long at least, one of 2 x 2 beads is, and at most: its clip is short."""
MOST_CLIP = 2


def settled(spec: PartSpec) -> dict[tuple[int, int, int], str]:
    """Which face each bead of the four long edges goes to; of a plugged bar but for its tips.

    Raises FigureError for a part that cannot be a bar.
    """
    along = _axis(spec)
    wide, narrow = _walls(spec, along)
    first, last = 0, spec.size[along]
    if spec.plug is not None:  # a layer longer, in its host
        first, last = (1, last) if spec.plug[1] in FAR else (0, last - 1)
    square = all(spec.size[a] == THICK for a in range(3) if a != along)
    least = LEAST_LONG_SQUARE if square else LEAST_LONG
    if last - first < least:
        raise FigureError(f"part {spec.name}: a bar so thin holds from {least} beads of length on")
    if last - first > MOST_LONG:
        raise FigureError(
            f"part {spec.name}: a bar so thin holds up to {MOST_LONG} beads of length; make it 3"
            " beads thick"
        )
    found = {}
    for clip in narrow:
        start, stop = _clip(last - first, square=square, far=clip in FAR)
        for wall in wide:
            places = edge_places(wall, clip, spec.size)
            for place in zip(*(axis.tolist() for axis in places), strict=True):
                if first <= place[along] < last:
                    mine = start <= place[along] - first < stop
                    found[place] = clip if mine else wall
    return found


def _clip(long: int, *, square: bool, far: bool) -> tuple[int, int]:
    """First and last but one bead of a clip along the bar."""
    if not square:
        beads = min(MOST_CLIP, long // 3)
        return (long - beads) // 2, (long - beads) // 2 + beads
    beads = min(MOST_CLIP, (long - 3) // 2)
    return (1, 1 + beads) if far else (long - 1 - beads, long - 1)


def _axis(spec: PartSpec) -> int:
    """The axis along a bar, square to its two open sides."""
    for axis in range(3):
        ends = {face for face in FACES if NORMAL[face] == axis}
        if spec.size[axis] > THICK and not ends & spec.faces and len(spec.faces) == 4:
            return axis
    raise FigureError(
        f"part {spec.name}: 2 beads thick it can only be a bar, open at both ends, as with"
        ' `open = ["top", "bottom"]`; or make it 3 beads thick; a flat plate is a [[fin]]'
    )


def _walls(spec: PartSpec, along: int) -> tuple[list[str], list[str]]:
    """The wider walls of a bar, and the narrower ones."""
    thick = next(a for a in range(3) if a != along and spec.size[a] == THICK)
    wide = [face for face in FACES if NORMAL[face] == thick]
    return wide, [face for face in FACES if NORMAL[face] not in (thick, along)]
