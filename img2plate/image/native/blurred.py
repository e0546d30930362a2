"""Hard cells that were blurred: the search takes them for soft cells of a half, third or quarter.

Interpolated from finer cells a blurred picture can be explained, too, and hardly better. So a soft
grid is compared with coarser ones of blurred boxes; the coarsest that explains as much is taken.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from img2plate.image.native.axis import Axis, AxisGrid, wrap
from img2plate.image.native.evidence import Planes, error_left
from img2plate.image.native.grid_candidate import Candidate
from img2plate.image.native.loops import BLURRED, HARDEST
from img2plate.image.native.refine import refine

COARSER = (4, 3, 2)
MIDDLE = BLURRED[2]
"""The blur that phases are looked for with."""
AS_MUCH, BESIDES = 1.1, 0.8
"""Share of the error of the soft grid, and 8-bit steps besides, that a coarser one may leave."""
HOPELESS = 4.0
"""Of that error, in a first look."""


def unblurred(planes: Planes, x: Axis, y: Axis, claim: Candidate) -> Candidate:
    """The coarsest grid of blurred boxes that explains as much as a soft claim, or the claim.

    `planes` (h, w, channels) is the picture that the axes are of.
    """
    if claim.kind <= HARDEST:
        return claim
    most = AS_MUCH * error_left(planes, claim) + BESIDES
    for times in COARSER:
        found = _boxes(x, y, claim, times)
        if error_left(planes, found) > HOPELESS * most:
            continue
        blurs = [replace(found, kind=kind) for kind in BLURRED]
        best = min(blurs, key=lambda one: error_left(planes, one))
        best = _refined(x, y, best)
        if error_left(planes, best) <= most:
            return best
    return claim


def _boxes(x: Axis, y: Axis, claim: Candidate, times: int) -> Candidate:
    """Blurred boxes of so many times the pitch: the whole frame, or the phase that fits best."""
    lines, cost = [], 0.0
    for axis, fine in ((x, claim.x), (y, claim.y)):
        pitch = fine.pitch * times
        whole = AxisGrid(axis.length / max(1, round(axis.length / pitch)), 0.0, True)
        shifts = np.arange(2 * times) * fine.pitch / 2
        tried = [AxisGrid(pitch, wrap(fine.offset + float(s), pitch)) for s in shifts]
        even = AxisGrid(float(round(pitch)), 0.0)
        tried += [AxisGrid(even.pitch, -float(s)) for s in range(int(even.pitch))]
        costs = axis.costs([whole, *tried], MIDDLE)
        lines.append([whole, *tried][int(costs.argmin())])
        cost += float(costs.min())
    return Candidate(lines[0], lines[1], MIDDLE, cost)


def _refined(x: Axis, y: Axis, found: Candidate) -> Candidate:
    """Pitch and offset turned until they fit best."""
    on_x, cost_x = refine(x, found.x.pitch, found.kind, [found.x.offset])
    on_y, cost_y = refine(y, found.y.pitch, found.kind, [found.y.offset])
    return Candidate(on_x, on_y, found.kind, cost_x + cost_y)
