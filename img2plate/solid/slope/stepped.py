"""A roof of level steps, where a slope would not hold: narrower and narrower boxes."""

from __future__ import annotations

from img2plate.solid.faces import Size
from img2plate.solid.spec import JoinSpec, PartSpec

HIGH = 4
"""Beads of a step: its strip reaches two into it."""
BACK = 2
"""Beads that a step is narrower than the one below, on either side."""
NARROWEST, SHORTEST = 7, 10
"""Beads across and along that a strip of 4 needs in the middle of a face."""
MOST_STEPS = 12


def step_sizes(size: Size, across: int) -> list[Size]:
    """Sizes of the steps over a part, the lowest first; none where not even one has room.

    across: the axis along which they get narrower.
    """
    found: list[Size] = []
    wide, long = size[across], size[1 - across]
    while wide >= NARROWEST and long >= SHORTEST and len(found) < MOST_STEPS:
        found.append((wide, long, HIGH) if across == 0 else (long, wide, HIGH))
        wide -= 2 * BACK
    return found


def stepped_roof(
    name: str, part: PartSpec, across: int, colour: int, line: int
) -> tuple[list[PartSpec], list[JoinSpec]]:
    """The steps over a part as parts of their own, and the strips that join them to it."""
    parts: list[PartSpec] = []
    joins: list[JoinSpec] = []
    below = part
    for number, size in enumerate(step_sizes(part.size, across), 1):
        at = (
            part.at[0] + (part.size[0] - size[0]) // 2,
            part.at[1] + (part.size[1] - size[1]) // 2,
            below.at[2] + below.size[2],
        )
        step = PartSpec(f"{name} {number}", size, at, colour=colour, line=line)
        strip = JoinSpec(
            f"{step.name} strip", (below.name, "top"), (step.name, "bottom"), "strip", 4,
            upright=across == 0, depth=2, colour=colour, line=line,
        )  # fmt: skip
        joins.append(strip)
        parts.append(step)
        below = step
    return parts, joins


def offer(size: Size, across: int) -> str:
    """What a stepped roof would be, in words; empty where there is none."""
    steps = step_sizes(size, across)
    if not steps:
        return ""
    said = ", ".join(f"{step[0]} x {step[1]}" for step in steps)
    return f"`stepped = true` makes level steps instead, {HIGH} beads high: {said}"
