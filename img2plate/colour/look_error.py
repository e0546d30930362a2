"""Look error: how different a plate looks from its picture, from a stated viewing distance.

S-CIELAB: both pictures go to an opponent space, each channel is blurred as the eye blurs it at that
distance, and what is left is compared in CIELAB (dE 1976, mean over the covered samples).

Sources
    X. Zhang, B. A. Wandell, "A spatial extension of CIELAB for digital color image reproduction",
        SID Symposium Technical Digest 27, 731-734, 1996: filters and weights.
    A. B. Poirson, B. A. Wandell, J. Opt. Soc. Am. A 10, 2458-2470, 1993: opponent space.
    Two sets of spreads are in use, wider by 1.6 to 1.8 in the authors' own code; both are here.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import atan, ceil, degrees, hypot, log, sqrt

import numpy as np
from numpy.typing import NDArray

from img2plate.base.arrays import Cells, Floats
from img2plate.base.specks import speck_share
from img2plate.colour.spaces import RGB2XYZ, xyz2lab

XYZ2OPPONENT = np.array(
    [
        [0.2787336, 0.7218031, -0.1065520],
        [-0.4487736, 0.2898056, 0.0771569],
        [0.0859513, -0.5899859, 0.5011089],
    ]
)
"""Luminance, red-green, blue-yellow for the 2 degree observer (as in the authors' code)."""
RGB2OPPONENT = XYZ2OPPONENT @ RGB2XYZ
OPPONENT2XYZ = np.linalg.inv(XYZ2OPPONENT)

Filters = tuple[tuple[tuple[float, float], ...], ...]
"""For each opponent channel: weight and standard deviation (degrees) of its Gaussians."""


def _from_spreads(table: Filters) -> Filters:
    """The paper writes exp(-x^2 / s^2): the standard deviation is s / sqrt(2)."""
    return tuple(tuple((weight, s / sqrt(2)) for weight, s in channel) for channel in table)


def _from_half_widths(table: Filters) -> Filters:
    """The code gives half widths at half maximum: h / sqrt(2 ln 2)."""
    return tuple(tuple((weight, h / sqrt(2 * log(2))) for weight, h in c) for c in table)


PARAMETERS: dict[str, Filters] = {
    "published-1996": _from_spreads(
        (
            ((0.921, 0.0283), (0.105, 0.133), (-0.108, 4.336)),
            ((0.531, 0.0392), (0.330, 0.494)),
            ((0.488, 0.0536), (0.371, 0.386)),
        )
    ),
    "reference-code": _from_half_widths(
        (
            ((1.00327, 0.05), (0.114416, 0.225), (-0.117686, 7.0)),
            ((0.616725, 0.0685), (0.383275, 0.826)),
            ((0.567885, 0.092), (0.432115, 0.6451)),
        )
    ),
}
"""By name. Weights are divided by their sum, so that an even picture stays as it is."""
_WIDE_CELLS = 2.0
"""A Gaussian so many cells wide is smooth over a cell, and is applied to cell means."""
_SAMPLES_PER_SPREAD = 0.7
_MOST_PER_CELL = 12


@dataclass(frozen=True)
class View:
    """From where a plate is looked at."""

    distance_m: float
    pitch_mm: float

    @property
    def cell_degrees(self) -> float:
        """Visual angle of one cell."""
        return degrees(2 * atan(self.pitch_mm / 2000 / self.distance_m))

    @property
    def per_cell(self) -> int:
        """Samples along a cell's side that the narrowest filter needs; a multiple of 3."""
        narrowest = min(spread for channel in PARAMETERS["published-1996"] for _, spread in channel)
        wanted = ceil(_SAMPLES_PER_SPREAD * self.cell_degrees / narrowest)
        return min(_MOST_PER_CELL, 3 * ceil(wanted / 3))


def default_distance_m(size_mm: tuple[float, float]) -> float:
    """Twice the plate's diagonal, at least 0.5 m: common practice, no source."""
    return max(0.5, 2 * hypot(*size_mm) / 1000)


def default_view(cells: tuple[int, int], pitch_mm: float) -> View:
    """How a plate of so many cells is looked at: from `default_distance_m`."""
    return View(default_distance_m((cells[0] * pitch_mm, cells[1] * pitch_mm)), pitch_mm)


def look_error(
    source: Floats,
    plate: Floats,
    view: View,
    *,
    cover: NDArray[np.bool_] | None = None,
    parameters: str = "published-1996",
) -> float:
    """Mean S-CIELAB dE76 between a picture and a plate.

    source: (h m, w m, 3) linear light, m samples along a cell's side; plate: (h, w, 3) linear light
    of the beads; cover: (h, w) bool, cells that count. Cells that do not are white in both.
    """
    one, two, covered = _both_seen(source, plate, view, cover, parameters)
    return float(np.sqrt(((one - two) ** 2).sum(axis=-1))[covered].mean())


def _both_seen(
    source: Floats,
    plate: Floats,
    view: View,
    cover: NDArray[np.bool_] | None,
    parameters: str = "published-1996",
) -> tuple[NDArray[np.float32], NDArray[np.float32], NDArray[np.bool_]]:
    """Picture and plate in CIELAB as the eye resolves them, and the samples that count."""
    per_cell = source.shape[0] // plate.shape[0]
    shown = plate.repeat(per_cell, axis=0).repeat(per_cell, axis=1)
    covered = np.ones(shown.shape[:2], np.bool_)
    if cover is not None:
        covered = cover.repeat(per_cell, axis=0).repeat(per_cell, axis=1)
        source, shown = (np.where(covered[..., None], p, np.float32(1)) for p in (source, shown))
    one, two = (seen_lab(p, view, per_cell, parameters=parameters) for p in (source, shown))
    return one, two, covered


@dataclass(frozen=True)
class Looks:
    """How a plate looks beside its picture."""

    error: float
    """Mean S-CIELAB dE76, published 1996 parameters."""
    similarity: float
    """SSIM on L*."""
    specks: float
    """Share of beads, 0..1."""
    distance_m: float


def measure_looks(source: Floats, plate: Floats, cells: Cells, view: View) -> Looks:
    """All figures at once; arrays as in `look_error`, cells (h, w), -1 where there is no bead."""
    one, two, covered = _both_seen(source, plate, view, cells >= 0)
    error = float(np.sqrt(((one - two) ** 2).sum(axis=-1))[covered].mean())
    return Looks(error, _ssim(one[..., 0], two[..., 0]), speck_share(cells), view.distance_m)


def seen_lab(
    linear: Floats, view: View, per_cell: int, *, parameters: str = "published-1996"
) -> NDArray[np.float32]:
    """(h, w, 3) CIELAB of a picture as the eye resolves it; `per_cell` samples a cell's side."""
    opponent = seen_opponent(linear, view, per_cell, parameters=parameters)
    return xyz2lab(opponent @ OPPONENT2XYZ.T.astype(np.float32)).astype(np.float32)


def seen_opponent(
    linear: Floats, view: View, per_cell: int, *, parameters: str = "published-1996"
) -> NDArray[np.float32]:
    """(h, w, 3) opponent channels of a picture, each blurred as the eye blurs it."""
    degrees_per_sample = view.cell_degrees / per_cell
    opponent = np.asarray(linear, np.float32) @ RGB2OPPONENT.T.astype(np.float32)
    for channel, gaussians in enumerate(PARAMETERS[parameters]):
        opponent[..., channel] = blur(
            np.ascontiguousarray(opponent[..., channel]), gaussians, degrees_per_sample, per_cell
        )
    return opponent


def blur(
    plane: NDArray[np.float32],
    gaussians: tuple[tuple[float, float], ...],
    degrees_per_sample: float,
    per_cell: int,
) -> NDArray[np.float32]:
    """Weighted sum of Gaussians, divided by their weights' sum; mirrored at the border.

    gaussians: (weight, standard deviation in degrees); `per_cell` samples along a cell's side.
    """
    total = sum(weight for weight, _ in gaussians)
    out = np.zeros_like(plane)
    for weight, spread in gaussians:
        samples = spread / degrees_per_sample
        if is_wide(samples, per_cell):
            blurred = _blur_wide(plane, samples, per_cell)
        else:
            blurred = _gauss(plane, samples)
        out += np.float32(weight / total) * blurred
    return out


def is_wide(samples: float, per_cell: int) -> bool:
    """Whether a Gaussian so many samples wide is smooth over a cell, and applied to cell means."""
    return samples > _WIDE_CELLS * per_cell


def kernel(spread: float, longest: int) -> Floats:
    """(2 n + 1, 1) a Gaussian of a standard deviation in samples, for a plane of that long side."""
    import cv2

    # Beyond the plate's own size a mirrored picture is flat: a longer kernel adds only time.
    reach = max(1, int(min(4 * spread, 3 * longest) + 0.5))
    return np.asarray(cv2.getGaussianKernel(2 * reach + 1, spread))


def _blur_wide(plane: NDArray[np.float32], samples: float, per_cell: int) -> NDArray[np.float32]:
    """A wide Gaussian on cell means, then brought back to samples by straight lines."""
    import cv2

    height, width = plane.shape
    means = plane.reshape(height // per_cell, per_cell, width // per_cell, per_cell).mean((1, 3))
    blurred = _gauss(means, samples / per_cell)
    return np.asarray(cv2.resize(blurred, (width, height), interpolation=cv2.INTER_LINEAR))


def _gauss(plane: NDArray[np.float32], spread: float) -> NDArray[np.float32]:
    """Gaussian of a standard deviation in samples, mirrored at the border."""
    import cv2

    taps = kernel(spread, max(plane.shape))
    blurred = cv2.sepFilter2D(plane, -1, taps, taps, borderType=cv2.BORDER_REFLECT)
    return np.asarray(blurred, np.float32)


def similarity(source: Floats, plate: Floats, view: View) -> float:
    """SSIM on L* of both as the eye resolves them, -1..1; arrays as in `look_error`.

    Z. Wang et al., IEEE Transactions on Image Processing 13(4), 600-612, 2004, by scikit-image.
    """
    per_cell = source.shape[0] // plate.shape[0]
    shown = plate.repeat(per_cell, axis=0).repeat(per_cell, axis=1)
    return _ssim(*(seen_lab(p, view, per_cell)[..., 0] for p in (source, shown)))


def _ssim(one: NDArray[np.float32], two: NDArray[np.float32]) -> float:
    """SSIM of two L* planes; 1 for pictures too small for a window."""
    from skimage.metrics import structural_similarity

    window = min(7, (min(one.shape) - 1) // 2 * 2 + 1)
    if window < 3:
        return 1.0
    return float(structural_similarity(one, two, data_range=100.0, win_size=window))
