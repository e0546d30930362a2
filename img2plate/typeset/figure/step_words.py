"""What a step of putting a figure together says: plates by number, joints by letter."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from math import asin, degrees

from img2plate.solid.check.lattice import Step
from img2plate.solid.joints import Joint

_SIDES = {
    (0, 1): "the right", (0, -1): "the left", (1, 1): "the back", (1, -1): "the front",
    (2, 1): "above", (2, -1): "below",
}  # fmt: skip
_LEAST_SEEN = 0.05
"""A way that comes less from a side than this is not said to come from there."""
_MOST_NAMED = 6
"""Joints and plates that a step names, before it only counts them."""


def first_words(number: int) -> str:
    """Of the plate that a part begins with."""
    return f"lay plate {number + 1} down"


def push_words(coming: Sequence[int], there: Collection[int], joints: Sequence[Joint]) -> str:
    """Of plates that come to others (numbers from 0): what, onto which, at which joints."""
    met: set[int] = set()
    letters = []
    for joint in joints:
        one, two = (side.piece for side in joint.sides)
        for mine, other in ((one, two), (two, one)):
            if mine in coming and other in there:
                met.add(other)
                letters.append(joint.letter)
    said = _counted("plate", [str(number + 1) for number in sorted(coming)])
    if met:
        said += f" onto {_counted('plate', [str(number + 1) for number in sorted(met)])}"
    return said + (f" at {_counted('joint', letters)}" if letters else "")


def way_words(step: Step) -> str:
    """From where something is pushed in."""
    if step.along is not None:
        angle = degrees(asin(min(1.0, abs(step.along[2]))))
        return f"along the slope of {angle:.0f} degrees, {_slope_words(step.along)}"
    return f"from {_SIDES[step.axis, step.step]}"


def _slope_words(along: Sequence[float]) -> str:
    """The sides that something comes from, that which it comes from most first."""
    most = sorted((-abs(way), axis) for axis, way in enumerate(along) if abs(way) > _LEAST_SEEN)
    return "from " + " and ".join(_SIDES[axis, 1 if along[axis] > 0 else -1] for _, axis in most)


def _counted(what: str, names: Sequence[str]) -> str:
    """ "joint A", "joints A and C", "plates 1 to 6", or how many where that is many."""
    if len(names) > 2 and names[0].isdigit() and int(names[-1]) - int(names[0]) == len(names) - 1:
        return f"{what}s {names[0]} to {names[-1]}"
    if len(names) > _MOST_NAMED:
        return f"{len(names)} {what}s"
    if len(names) == 1:
        return f"{what} {names[0]}"
    return f"{what}s {', '.join(names[:-1])} and {names[-1]}"
