"""How well a claimed grid explains a picture, beside decoys: the same pitch, shifted.

Any fine grid leaves little unexplained, so the errors that a grid leaves say little by themselves.
Shifted by a part of a cell, a right grid explains much less, and one that is not there as much.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from img2plate.base.arrays import Pixels
from img2plate.image.native.axis import AxisGrid, wrap
from img2plate.image.native.clipped import BothWays
from img2plate.image.native.grid_candidate import Candidate
from img2plate.image.native.loops import BLURRED, HARDEST
from img2plate.image.native.matrices import pseudo_inverse, sampling_matrix
from img2plate.image.native.parts import busiest, premultiplied, varying_channels
from img2plate.image.native.snapped import active_and_uneven, band_ratios, snapped

Planes = NDArray[np.float32]
SHIFTS = (0.5, 1 / 3, -1 / 3)
"""Of a cell, by which decoys lie beside the grid."""
MOST_SIDE = 416
"""Pixels of a side that are looked at: the busiest ones."""
ROUNDS = 4
"""Of correcting soft cells for what was clipped."""
ALIKE = 1.01
"""8-bit steps within which pixels are as their cell's mean: what rounding makes."""


@dataclass(frozen=True)
class Evidence:
    """What speaks for a grid."""

    same: float
    """Share of pixels that are as the mean of their cell, hard cells that end between pixels."""
    contrast: float
    """Half the log ratio of what the best decoy leaves to what the grid leaves, by its kernel."""
    left: float
    """Root of the mean square that the grid leaves, in 8-bit steps."""
    hang: float
    """Correlation of neighbouring errors, -1..1: of plain noise 0."""
    soft_lines: float
    """Lower quartile over the lines of `contrast` round each."""
    lines: float
    """The same with hard cells."""
    box_contrast: float
    """`contrast` with hard cells."""
    uneven: float
    """Share of cells that are as uneven inside as they differ from their neighbours."""
    pitch: float
    """Pixels a cell, of the finer axis."""
    apart: float
    """Log ratio of both axes' pitches, beyond what rounding the picture's size explains."""


def evidence(pixels: Pixels, claim: Candidate) -> Evidence:
    """Look at a picture (h, w, 4) with a grid claimed on it."""
    planes, x, y = _part(pixels, claim)
    errors = _errors(planes, x, y, claim.kind)
    decoys = [_errors(planes, _shifted(x, by), _shifted(y, by), claim.kind) for by in SHIFTS]
    boxes = snapped(planes, x, y)
    others = [snapped(planes, _shifted(x, by), _shifted(y, by)).errors for by in SHIFTS]
    active, uneven = active_and_uneven(planes, boxes)
    return Evidence(
        same=float((np.abs(boxes.errors).max(axis=2) <= ALIKE).mean()),
        contrast=_contrast(errors, decoys),
        left=float(np.sqrt(_power(errors))),
        hang=_hang(errors),
        soft_lines=_quartile(band_ratios(boxes, errors, decoys)),
        lines=_quartile(band_ratios(boxes, boxes.errors, others)),
        box_contrast=_contrast(boxes.errors, others),
        uneven=float(uneven.sum() / max(1, active.sum())),
        pitch=claim.finer_pitch,
        apart=_apart(claim, pixels.shape[1], pixels.shape[0]),
    )


def error_left(planes: Planes, claim: Candidate) -> float:
    """Root of the mean square that a grid on a picture (h, w, channels) leaves."""
    left = _errors(planes, claim.x, claim.y, claim.kind)
    return float(np.sqrt(np.mean(left**2)))


def _apart(claim: Candidate, width: int, height: int) -> float:
    """How far the pitches of both axes lie apart, beyond rounding."""
    ratio = abs(float(np.log(claim.x.pitch / claim.y.pitch)))
    return max(0.0, ratio - 0.5 / width - 0.5 / height)


def _part(pixels: Pixels, claim: Candidate) -> tuple[Planes, AxisGrid, AxisGrid]:
    """The busiest part of a picture, premultiplied, and the grid there."""
    if max(pixels.shape[:2]) <= MOST_SIDE:
        return varying_channels(premultiplied(pixels)), claim.x, claim.y
    left, top = busiest(pixels, MOST_SIDE)
    part = pixels[top : top + MOST_SIDE, left : left + MOST_SIDE]
    x, y = (
        AxisGrid(lines.pitch, wrap(lines.offset - start, lines.pitch))
        for lines, start in ((claim.x, left), (claim.y, top))
    )
    return varying_channels(premultiplied(part)), x, y


def _shifted(lines: AxisGrid, by: float) -> AxisGrid:
    """The same pitch, so much of a cell aside."""
    return AxisGrid(lines.pitch, wrap(lines.offset + by * lines.pitch, lines.pitch))


def _errors(planes: Planes, x: AxisGrid, y: AxisGrid, kind: int) -> Planes:
    """(h, w, channels) that the best fit by a kernel leaves."""
    axes = []
    for lines, length in ((x, planes.shape[1]), (y, planes.shape[0])):
        forth = sampling_matrix(lines, length, kind)
        axes += [forth, pseudo_inverse(forth)]
    turned = np.ascontiguousarray(planes.transpose(2, 0, 1))
    left, _ = BothWays(*axes).left(turned, kind, ROUNDS if HARDEST < kind < BLURRED[0] else 0)
    return left.transpose(1, 2, 0)


def _hang(errors: Planes) -> float:
    """How alike neighbouring errors are, across and down."""
    power = float(np.mean(errors**2))
    if power < 1e-6:
        return 0.0
    across = float(np.mean(errors[:, 1:] * errors[:, :-1]))
    down = float(np.mean(errors[1:] * errors[:-1]))
    return (across + down) / 2 / power


def _power(errors: Planes) -> float:
    return float(np.mean(errors**2))


def _contrast(errors: Planes, decoys: list[Planes]) -> float:
    """Half the log ratio of mean squares, of the best decoy; less than a step does not count."""
    return 0.5 * float(np.log((min(map(_power, decoys)) + 1) / (_power(errors) + 1)))


def _quartile(ratios: NDArray[np.float64]) -> float:
    return float(np.quantile(ratios, 0.25)) if len(ratios) else 0.0
