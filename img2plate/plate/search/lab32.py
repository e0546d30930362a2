"""Colour differences of filtered samples in single precision, compiled to run eight at once.

A cube root by the usual routine takes longer than all else in the search. Here it is a first guess
from the bits of the number, then two steps of Newton's method: right to 2 parts in a million.
"""

from __future__ import annotations

from typing import NamedTuple, TypeAlias

import numpy as np
from numpy.typing import NDArray

from img2plate.base.compiled import Real, compiled
from img2plate.plate.shade.lab_loops import guess_root

F32 = np.float32
Three: TypeAlias = tuple[Real, Real, Real]
"""One number for each channel."""
_THIRD, _TWO = np.float32(1 / 3), np.float32(2)
_KNEE = np.float32((6 / 29) ** 3)
_SLOPE, _LIFT = np.float32((29 / 6) ** 2 / 3), np.float32(4 / 29)
L_SCALE, A_SCALE, B_SCALE = np.float32(116), np.float32(500), np.float32(200)
_FLIP_DARK, _FLIP_CHROMA = np.float32(0.6), np.float32(1.16)
_FLIP_SHIFT = np.float32(0.16)
_SOFTENING = np.float32(4.0**2)
"""4 dE are added at right angles for gradients: the hessian of a bare length has no bound at
nought, and gradients that are kept up by it would run away where the plate is already right."""


class ToXYZ(NamedTuple):
    """Matrix from a view's channels to XYZ over white, float32.

    Nine numbers by value, not an array: a compiler that need not fear that a result overwrites them
    keeps them at hand and works on several samples at once.
    """

    x1: Real
    x2: Real
    x3: Real
    y1: Real
    y2: Real
    y3: Real
    z1: Real
    z2: Real
    z3: Real


class Samples(NamedTuple):
    """The samples around one cell in all views, gathered for a visit."""

    seen: NDArray[np.float32]
    """(3, n) channels of the plate as it is."""
    wanted: NDArray[np.float32]
    """(3, n) the picture: f(X), f(Y), f(Z) for S-CIELAB, else L* and scaled a*, b*."""
    weight: NDArray[np.float32]
    """(n,)."""
    each: NDArray[np.float32]
    """(n,) space for differences."""
    derivatives: NDArray[np.float32]
    """(9, n) space for gradients and Hessians."""
    sums: NDArray[np.float32]
    """Space for sums over a ring."""


class Span(NamedTuple):
    """One view's part of the samples."""

    start: int
    stop: int
    to: ToXYZ


@compiled
def lab_f(ratio: Real) -> Real:
    """f of CIELAB: the cube root, and a straight line for small and negative values."""
    root = guess_root(ratio)
    root = (_TWO * root + ratio / (root * root)) * _THIRD
    root = (_TWO * root + ratio / (root * root)) * _THIRD
    return root if ratio > _KNEE else _SLOPE * ratio + _LIFT


@compiled
def lab_slope(ratio: Real) -> Real:
    """Derivative of `lab_f`."""
    if ratio > _KNEE:
        root = lab_f(ratio)
        return _THIRD / (root * root)
    return _SLOPE


@compiled
def to_xyz_by_value(m: NDArray[np.float32]) -> ToXYZ:
    """Take the 9 numbers out of a flat matrix."""
    return ToXYZ(m[0], m[1], m[2], m[3], m[4], m[5], m[6], m[7], m[8])


@compiled
def s_cielab_sum(samples: Samples, span: Span, share: NDArray[np.float32], change: Three) -> Real:
    """Weighted sum of dE76 over a view's samples when a bead changes, `share` (3, n) of it each."""
    one, two, three = change
    to, part = span.to, slice(span.start, span.stop)
    seen_1, seen_2, seen_3 = samples.seen[0, part], samples.seen[1, part], samples.seen[2, part]
    share_1, share_2, share_3 = share[0, part], share[1, part], share[2, part]
    wanted_x, wanted_y, wanted_z = (
        samples.wanted[0, part],
        samples.wanted[1, part],
        samples.wanted[2, part],
    )
    each = samples.each[part]
    for i in range(len(each)):
        a = seen_1[i] + one * share_1[i]
        b = seen_2[i] + two * share_2[i]
        c = seen_3[i] + three * share_3[i]
        x = lab_f(to.x1 * a + to.x2 * b + to.x3 * c) - wanted_x[i]
        y = lab_f(to.y1 * a + to.y2 * b + to.y3 * c) - wanted_y[i]
        z = lab_f(to.z1 * a + to.z2 * b + to.z3 * c) - wanted_z[i]
        in_l, in_a, in_b = L_SCALE * y, A_SCALE * (x - y), B_SCALE * (y - z)
        each[i] = np.sqrt(in_l * in_l + in_a * in_a + in_b * in_b)
    return _weighted(each, samples.weight[part])


@compiled
def flip_sum(samples: Samples, span: Span, share: NDArray[np.float32], change: Three) -> Real:
    """As `s_cielab_sum`, by the colour part of FLIP (see `filters`), without its scale.

    HyAB of CIELAB whose a*, b* shrink with lightness (Hunt's effect) but not below 0.6: FLIP itself
    lets them vanish in the dark, which puts dark red into blue skies. To the power of 0.6875, four
    square roots, for its 0.7.
    """
    one, two, three = change
    to, part = span.to, slice(span.start, span.stop)
    seen_1, seen_2, seen_3 = samples.seen[0, part], samples.seen[1, part], samples.seen[2, part]
    share_1, share_2, share_3 = share[0, part], share[1, part], share[2, part]
    wanted_l, wanted_a, wanted_b = (
        samples.wanted[0, part],
        samples.wanted[1, part],
        samples.wanted[2, part],
    )
    each = samples.each[part]
    for i in range(len(each)):
        a = seen_1[i] + one * share_1[i]
        b = seen_2[i] + two * share_2[i]
        c = seen_3[i] + three * share_3[i]
        x = lab_f(to.x1 * a + to.x2 * b + to.x3 * c)
        y = lab_f(to.y1 * a + to.y2 * b + to.y3 * c)
        z = lab_f(to.z1 * a + to.z2 * b + to.z3 * c)
        scale = max(_FLIP_CHROMA * y - _FLIP_SHIFT, _FLIP_DARK)
        in_a = scale * A_SCALE * (x - y) - wanted_a[i]
        in_b = scale * B_SCALE * (y - z) - wanted_b[i]
        d = np.abs(L_SCALE * y - F32(16) - wanted_l[i]) + np.sqrt(in_a * in_a + in_b * in_b)
        each[i] = np.sqrt(d * np.sqrt(np.sqrt(d * np.sqrt(d))))
    return _weighted(each, samples.weight[part])


@compiled
def _weighted(each: NDArray[np.float32], weight: NDArray[np.float32]) -> Real:
    """Weighted sum."""
    total = F32(0)
    for i in range(len(each)):
        total += each[i] * weight[i]
    return total


@compiled
def gradient_and_hessian(samples: Samples, span: Span) -> None:
    """Gradient (3) and Hessian (11, 22, 33, 12, 13, 23) of each of a span's weighted dE76."""
    to = span.to
    seen, wanted, out = samples.seen, samples.wanted, samples.derivatives
    for i in range(span.start, span.stop):
        one, two, three = seen[0, i], seen[1, i], seen[2, i]
        x = to.x1 * one + to.x2 * two + to.x3 * three
        y = to.y1 * one + to.y2 * two + to.y3 * three
        z = to.z1 * one + to.z2 * two + to.z3 * three
        miss_x, miss_y = lab_f(x) - wanted[0, i], lab_f(y) - wanted[1, i]
        in_l, in_a = L_SCALE * miss_y, A_SCALE * (miss_x - miss_y)
        in_b = B_SCALE * (miss_y - lab_f(z) + wanted[2, i])
        per = F32(1) / np.sqrt(in_l * in_l + in_a * in_a + in_b * in_b + _SOFTENING)
        slope_x, slope_y, slope_z = lab_slope(x), lab_slope(y), lab_slope(z)
        l1, a1, b1 = _row(slope_x * to.x1, slope_y * to.y1, slope_z * to.z1)
        l2, a2, b2 = _row(slope_x * to.x2, slope_y * to.y2, slope_z * to.z2)
        l3, a3, b3 = _row(slope_x * to.x3, slope_y * to.y3, slope_z * to.z3)
        g1 = (l1 * in_l + a1 * in_a + b1 * in_b) * per
        g2 = (l2 * in_l + a2 * in_a + b2 * in_b) * per
        g3 = (l3 * in_l + a3 * in_a + b3 * in_b) * per
        weight = samples.weight[i]
        out[0, i], out[1, i], out[2, i] = weight * g1, weight * g2, weight * g3
        per *= weight
        out[3, i] = (l1 * l1 + a1 * a1 + b1 * b1 - g1 * g1) * per
        out[4, i] = (l2 * l2 + a2 * a2 + b2 * b2 - g2 * g2) * per
        out[5, i] = (l3 * l3 + a3 * a3 + b3 * b3 - g3 * g3) * per
        out[6, i] = (l1 * l2 + a1 * a2 + b1 * b2 - g1 * g2) * per
        out[7, i] = (l1 * l3 + a1 * a3 + b1 * b3 - g1 * g3) * per
        out[8, i] = (l2 * l3 + a2 * a3 + b2 * b3 - g2 * g3) * per


@compiled
def _row(by_x: Real, by_y: Real, by_z: Real) -> Three:
    """How L*, a* and b* change with a channel, from how f(X), f(Y), f(Z) do."""
    return L_SCALE * by_y, A_SCALE * (by_x - by_y), B_SCALE * (by_y - by_z)
