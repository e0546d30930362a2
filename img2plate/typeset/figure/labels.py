"""Labels in a drawing: a disc with a plate's number, beside small plates with a line to them.

A disc stands on its plate where that stays to be seen; else beside it, on the ground if there is
room. No disc touches another one or lies on another's line.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import hypot
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from img2plate.typeset.figure.projection import FINER, Drawing
from img2plate.typeset.figure.slabs import Slab
from img2plate.typeset.look import INK, PAPER, font

if TYPE_CHECKING:
    from PIL import Image

RADIUS = 13
"""Of a disc, pixels."""
MOST_HIDDEN = 0.3
"""Share of what is seen of a plate that its own disc may hide."""
_GAP = 2.0
_TURNS = np.linspace(0, 2 * np.pi, 24, endpoint=False)
_RINGS = (1.6, 2.2, 3.0, 4.0, 5.0, 6.5, 8.0, 10.0, 13.0)
"""Distances from plate to disc that are tried, in radii."""


@dataclass(frozen=True)
class Label:
    """A word in a round frame, and the place that it means; all in pixels."""

    text: str
    x: float
    y: float
    half: float
    """Half its width; half its height is `RADIUS`."""
    to: tuple[float, float]

    @property
    def is_beside(self) -> bool:
        """Whether a line leads from it to its place."""
        return (self.x, self.y) != self.to


def place_labels(
    drawing: Drawing, named: list[tuple[str, list[Slab]]], most_hidden: float = MOST_HIDDEN
) -> list[Label]:
    """A label for each named thing of which something is seen, small things first."""
    seen = [(text, _beads_seen(drawing, slabs)) for text, slabs in named]
    seen = [(text, points) for text, points in seen if len(points)]
    field = _Field(drawing)
    bead = drawing.scale.a * drawing.scale.b * 2 / FINER**2
    for text, points in sorted(seen, key=lambda entry: len(entry[1])):
        field.add(text, points, len(points) * bead * most_hidden)
    order = {text: number for number, (text, _) in enumerate(named)}
    return sorted(field.labels, key=lambda label: order[label.text])


def _beads_seen(drawing: Drawing, slabs: list[Slab]) -> NDArray[np.float64]:
    """(n, 2) pixels of the beads that are not hidden."""
    found = []
    for slab in slabs:
        points = slab.middles
        found += [drawing.at(point) for point in points[drawing.sees(points)]]
    return np.array(found).reshape(-1, 2)


class _Field:
    """Where labels stand so far, and what they would cover."""

    def __init__(self, drawing: Drawing) -> None:
        self.labels: list[Label] = []
        taken = drawing.near[::FINER, ::FINER] > 0
        self._sums = np.pad(taken.astype(np.int64).cumsum(0).cumsum(1), ((1, 0), (1, 0)))
        self._size = taken.shape[::-1]

    def add(self, text: str, points: NDArray[np.float64], room: float) -> None:
        """Put a label where it costs least: on its thing if that has room, else beside."""
        middle = points.mean(axis=0)
        to = points[((points - middle) ** 2).sum(axis=1).argmin()]
        half = max(RADIUS, float(font(16, bold=True).getlength(text)) / 2 + 7)
        tried = [to] if 4 * half * RADIUS * 0.8 <= room else []
        if tried:  # another bead of it, where its middle is taken
            tried += list(
                points[((points - to) ** 2).sum(axis=1).argsort()][:: max(1, len(points) // 40)]
            )
        for x, y in tried:
            label = Label(text, float(x), float(y), half, (float(x), float(y)))
            if self._is_free(label):
                self.labels.append(label)
                return
        rings = [
            Label(text, float(to[0] + np.cos(t) * (ring * RADIUS + half - RADIUS)),
                  float(to[1] + np.sin(t) * ring * RADIUS), half, (float(to[0]), float(to[1])))
            for ring in _RINGS for t in _TURNS
        ]  # fmt: skip
        free = [label for label in rings if self._is_free(label)]
        if free:
            self.labels.append(min(free, key=self._cost))

    def _is_free(self, label: Label) -> bool:
        """Whether it is inside the picture, off other labels, and no line crosses a label."""
        wide, high = self._size
        if not (label.half < label.x < wide - label.half and RADIUS < label.y < high - RADIUS):
            return False
        for other in self.labels:
            across = abs(other.x - label.x) < other.half + label.half + _GAP
            if across and abs(other.y - label.y) < 2 * RADIUS + _GAP:
                return False
            if _crosses(label, other) or _crosses(other, label):
                return False
        return True

    def _cost(self, label: Label) -> float:
        """What it would cover, in shares of itself, and how far its line is."""
        left, right = int(label.x - label.half), int(label.x + label.half) + 1
        top, foot = int(label.y - RADIUS), int(label.y + RADIUS) + 1
        s = self._sums
        wide, high = self._size
        right, foot = min(right, wide), min(foot, high)
        covered = s[foot, right] - s[top, right] - s[foot, left] + s[top, left]
        far = hypot(label.x - label.to[0], label.y - label.to[1]) / RADIUS
        return 12.0 * float(covered) / (4 * label.half * RADIUS) + far


def _crosses(line: Label, label: Label) -> bool:
    """Whether the line of one label runs over another label."""
    if not line.is_beside:
        return False
    first, last = 0.0, 1.0  # the shares of the line that lie over the label, along both axes
    for start, end, middle, half in (
        (line.x, line.to[0], label.x, label.half + 1),
        (line.y, line.to[1], label.y, RADIUS + 1),
    ):
        way = end - start
        if way == 0:
            if abs(start - middle) >= half:
                return False
            continue
        one, two = (middle - half - start) / way, (middle + half - start) / way
        first, last = max(first, min(one, two)), min(last, max(one, two))
    return first < last


def draw_labels(image: Image.Image, labels: list[Label]) -> None:
    """Lines first, then the frames with their words."""
    from PIL import ImageDraw

    pen = ImageDraw.Draw(image)
    for label in labels:
        if label.is_beside:
            x, y = label.to
            pen.line((label.x, label.y, x, y), fill=PAPER, width=4)
            pen.line((label.x, label.y, x, y), fill=INK, width=2)
            pen.ellipse((x - 3, y - 3, x + 3, y + 3), fill=INK, outline=PAPER)
    for label in labels:
        x, y, half = label.x, label.y, label.half
        box = (x - half, y - RADIUS, x + half, y + RADIUS)
        pen.rounded_rectangle(box, radius=RADIUS, fill=PAPER, outline=INK, width=2)
        pen.text((x, y), label.text, font=font(16, bold=True), fill=INK, anchor="mm")
