"""CIELAB of filtered samples in single precision, compiled so that it runs eight samples at once.

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
"""One number for each opponent channel."""
_THIRD, _TWO = np.float32(1 / 3), np.float32(2)
_KNEE = np.float32((6 / 29) ** 3)
_SLOPE, _LIFT = np.float32((29 / 6) ** 2 / 3), np.float32(4 / 29)
LIGHTNESS_WEIGHT = 1.5
"""Lightness counts half as much again as in the look error: chosen by trying. It costs no look
error, and drawing and texture (SSIM) come out better than by the plain difference."""
L_SCALE = np.float32(116 * LIGHTNESS_WEIGHT)
A_SCALE, B_SCALE = np.float32(500), np.float32(200)


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


_SOFTENING = np.float32(4.0**2)
"""4 dE are added at right angles for gradients: the hessian of a bare length has no bound at
nought, and gradients that are kept up by it would run away where the plate is already right."""


class ToXYZ(NamedTuple):
    """Matrix from opponent channels to XYZ over white, float32.

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


@compiled
def to_xyz_by_value(m: NDArray[np.float32]) -> ToXYZ:
    """Take the 9 numbers out of a flat matrix."""
    return ToXYZ(m[0], m[1], m[2], m[3], m[4], m[5], m[6], m[7], m[8])


@compiled
def difference(
    one: Real, two: Real, three: Real,
    wanted_x: Real, wanted_y: Real, wanted_z: Real,
    to: ToXYZ,
) -> Real:  # fmt: skip
    """dE76 of opponent values from wanted f(X), f(Y), f(Z)."""
    x = lab_f(to.x1 * one + to.x2 * two + to.x3 * three) - wanted_x
    y = lab_f(to.y1 * one + to.y2 * two + to.y3 * three) - wanted_y
    z = lab_f(to.z1 * one + to.z2 * two + to.z3 * three) - wanted_z
    in_l, in_a, in_b = L_SCALE * y, A_SCALE * (x - y), B_SCALE * (y - z)
    return np.sqrt(in_l * in_l + in_a * in_a + in_b * in_b)


@compiled
def total_difference(
    seen: NDArray[np.float32],
    wanted: NDArray[np.float32],
    to_xyz: ToXYZ,
    change: Three,
    share: NDArray[np.float32],
    each: NDArray[np.float32],
    count: int,
) -> Real:
    """Sum of dE76 over `count` samples when `change` is added by its `share` (3, n).

    seen, wanted: (3, n) opponent values and wanted f(X), f(Y), f(Z); each: space for n values.
    """
    one, two, three = change
    for i in range(count):
        each[i] = difference(
            seen[0, i] + one * share[0, i],
            seen[1, i] + two * share[1, i],
            seen[2, i] + three * share[2, i],
            wanted[0, i], wanted[1, i], wanted[2, i],
            to_xyz,
        )  # fmt: skip
    total = F32(0)
    for i in range(count):
        total += each[i]
    return total


@compiled
def gradient_and_hessian(
    seen: NDArray[np.float32],
    wanted: NDArray[np.float32],
    to: ToXYZ,
    out: NDArray[np.float32],
    count: int,
) -> None:
    """Gradient (3) and Hessian (11, 22, 33, 12, 13, 23) of each sample's dE76 to `out` (9, n)."""
    for i in range(count):
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
        gradient_1 = (l1 * in_l + a1 * in_a + b1 * in_b) * per
        gradient_2 = (l2 * in_l + a2 * in_a + b2 * in_b) * per
        gradient_3 = (l3 * in_l + a3 * in_a + b3 * in_b) * per
        out[0, i], out[1, i], out[2, i] = gradient_1, gradient_2, gradient_3
        out[3, i] = (l1 * l1 + a1 * a1 + b1 * b1 - gradient_1 * gradient_1) * per
        out[4, i] = (l2 * l2 + a2 * a2 + b2 * b2 - gradient_2 * gradient_2) * per
        out[5, i] = (l3 * l3 + a3 * a3 + b3 * b3 - gradient_3 * gradient_3) * per
        out[6, i] = (l1 * l2 + a1 * a2 + b1 * b2 - gradient_1 * gradient_2) * per
        out[7, i] = (l1 * l3 + a1 * a3 + b1 * b3 - gradient_1 * gradient_3) * per
        out[8, i] = (l2 * l3 + a2 * a3 + b2 * b3 - gradient_2 * gradient_3) * per


@compiled
def _row(by_x: Real, by_y: Real, by_z: Real) -> Three:
    """How L*, a* and b* change with an opponent channel, from how f(X), f(Y), f(Z) do."""
    return L_SCALE * by_y, A_SCALE * (by_x - by_y), B_SCALE * (by_y - by_z)
