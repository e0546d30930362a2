"""Conversions between sRGB, linear light, XYZ, CIELAB and OKLab, on arrays (..., 3).

Sources
    sRGB transfer: IEC 61966-2-1:1999 (threshold 0.04045, 12.92, 0.055, 1.055, 2.4).
    RGB to XYZ: derived from the sRGB primaries and the white x = 0.3127, y = 0.3290, unrounded.
    CIELAB: CIE 15, with that white.
    OKLab: B. Ottosson, "A perceptual color space for image processing", 2020 (linear sRGB matrix).

8-bit values become floats 0..1 once, at the door; everything here takes and gives floats. The
dtype that comes in (float32 or float64) goes out.
"""

from __future__ import annotations

from functools import cache

import numpy as np
from numpy.typing import NDArray

from img2plate.base.arrays import Floats

WHITE_XYZ = np.array([0.3127 / 0.3290, 1.0, (1 - 0.3127 - 0.3290) / 0.3290])
"""XYZ of the D65 white that sRGB names, Y = 1."""


def _rgb2xyz_matrix() -> NDArray[np.float64]:
    """Solve for the matrix that maps the sRGB primaries' sum to white."""
    x, y = np.array([[0.64, 0.30, 0.15], [0.33, 0.60, 0.06]])
    primaries = np.stack([x / y, np.ones(3), (1 - x - y) / y])
    return np.asarray(primaries * np.linalg.solve(primaries, WHITE_XYZ))


RGB2XYZ = _rgb2xyz_matrix()
XYZ2RGB = np.linalg.inv(RGB2XYZ)
_RGB2LMS = np.array(
    [
        [0.4122214708, 0.5363325363, 0.0514459929],
        [0.2119034982, 0.6806995451, 0.1073969566],
        [0.0883024619, 0.2817188376, 0.6299787005],
    ]
)
_LMS2OKLAB = np.array(
    [
        [0.2104542553, 0.7936177850, -0.0040720468],
        [1.9779984951, -2.4285922050, 0.4505937099],
        [0.0259040371, 0.7827717662, -0.8086757660],
    ]
)
_EPSILON = (6 / 29) ** 3
_SLOPE = (29 / 6) ** 2 / 3


def _apply(matrix: Floats, colours: Floats) -> Floats:
    """Multiply each colour by a matrix, in the colours' own dtype."""
    return np.asarray(colours @ matrix.T.astype(colours.dtype))


def srgb2linear(srgb: Floats) -> Floats:
    """Decode sRGB 0..1, shape (...), to linear light 0..1."""
    srgb = np.asarray(srgb)
    curve = np.power((np.maximum(srgb, 0.04045) + 0.055) / 1.055, 2.4)
    return np.asarray(np.where(srgb <= 0.04045, srgb / 12.92, curve), dtype=srgb.dtype)


def linear2srgb(linear: Floats) -> Floats:
    """Encode linear light, shape (...), to sRGB; inverse of `srgb2linear`, clipped to 0..1."""
    linear = np.clip(linear, 0, 1)
    curve = 1.055 * np.power(linear, 1 / 2.4) - 0.055
    return np.asarray(np.where(linear <= 0.0031308, linear * 12.92, curve), dtype=linear.dtype)


@cache
def byte2linear_table() -> NDArray[np.float32]:
    """Linear light of each 8-bit sRGB value, shape (256,), float32."""
    return srgb2linear(np.arange(256) / 255).astype(np.float32)


def bytes2linear(srgb: NDArray[np.uint8]) -> NDArray[np.float32]:
    """Decode 8-bit sRGB of any shape to linear light, float32 0..1."""
    return byte2linear_table()[srgb]


def linear2bytes(linear: Floats) -> NDArray[np.uint8]:
    """Encode linear light of any shape to 8-bit sRGB, rounded."""
    return np.asarray(np.rint(linear2srgb(linear) * 255), dtype=np.uint8)


def linear2xyz(linear: Floats) -> Floats:
    """Convert linear sRGB (..., 3) to XYZ, Y = 1 for white."""
    return _apply(RGB2XYZ, np.asarray(linear))


def xyz2linear(xyz: Floats) -> Floats:
    """Convert XYZ (..., 3) to linear sRGB; inverse of `linear2xyz`, not clipped."""
    return _apply(XYZ2RGB, np.asarray(xyz))


def xyz2lab(xyz: Floats) -> Floats:
    """Convert XYZ (..., 3) to CIELAB: L* from 0 to 100, a* and b* around 0."""
    ratio = np.asarray(xyz) / WHITE_XYZ.astype(np.asarray(xyz).dtype)
    f = np.where(ratio > _EPSILON, np.cbrt(ratio), _SLOPE * ratio + 4 / 29)
    x, y, z = f[..., 0], f[..., 1], f[..., 2]
    return np.stack([116 * y - 16, 500 * (x - y), 200 * (y - z)], axis=-1).astype(ratio.dtype)


def lab2xyz(lab: Floats) -> Floats:
    """Convert CIELAB (..., 3) to XYZ; inverse of `xyz2lab`."""
    lab = np.asarray(lab)
    y = (lab[..., 0] + 16) / 116
    f = np.stack([y + lab[..., 1] / 500, y, y - lab[..., 2] / 200], axis=-1)
    ratio = np.where(f > 6 / 29, f**3, (f - 4 / 29) / _SLOPE)
    return np.asarray(ratio * WHITE_XYZ, dtype=lab.dtype)


def linear2lab(linear: Floats) -> Floats:
    """Convert linear sRGB (..., 3) to CIELAB under D65."""
    return xyz2lab(linear2xyz(linear))


def lab2linear(lab: Floats) -> Floats:
    """Convert CIELAB (..., 3) to linear sRGB; may lie outside 0..1."""
    return xyz2linear(lab2xyz(lab))


def linear2oklab(linear: Floats) -> Floats:
    """Convert linear sRGB (..., 3) to OKLab: L from 0 to 1."""
    return _apply(_LMS2OKLAB, np.cbrt(_apply(_RGB2LMS, np.asarray(linear))))


def oklab2linear(oklab: Floats) -> Floats:
    """Convert OKLab (..., 3) to linear sRGB; inverse of `linear2oklab`, may lie outside 0..1."""
    lms = _apply(np.linalg.inv(_LMS2OKLAB), np.asarray(oklab)) ** 3
    return _apply(np.linalg.inv(_RGB2LMS), lms)


def hex2srgb(text: str) -> tuple[int, int, int]:
    """Read `#RRGGBB` (the # may be missing). Raises ValueError on anything else."""
    digits = text.strip().removeprefix("#")
    if len(digits) != 6:
        raise ValueError(f"{text!r} is not a colour written #RRGGBB")
    try:
        red, green, blue = bytes.fromhex(digits)
    except ValueError:
        raise ValueError(f"{text!r} is not a colour written #RRGGBB") from None
    return red, green, blue


def srgb2hex(srgb: tuple[int, int, int]) -> str:
    """Write an 8-bit colour as `#RRGGBB`."""
    return "#{:02X}{:02X}{:02X}".format(*srgb)
