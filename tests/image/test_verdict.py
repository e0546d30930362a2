"""Evidence for claimed grids, and what is believed."""

from __future__ import annotations

from dataclasses import replace

import cv2
import numpy as np
import pytest
from enlargements import by_pillow, jpeg, sample
from PIL import Image

from img2plate.image.native.axis import AxisGrid
from img2plate.image.native.evidence import evidence
from img2plate.image.native.grid_candidate import Candidate
from img2plate.image.native.loops import BICUBIC, NEAREST, sampling
from img2plate.image.native.recover import find_native_grid
from img2plate.image.native.search import MOST_RUGGED, ruggedness
from img2plate.image.native.verdict import Verdict, verdict


def claim(pitch: float, offset: float = 0.0, kind: int = NEAREST) -> Candidate:
    lines = AxisGrid(pitch, offset)
    return Candidate(lines, lines, kind, 0.0)


def test_a_right_grid_stands_out_and_a_shifted_one_does_not() -> None:
    big = jpeg(by_pillow(sample("trawler"), 8, Image.Resampling.NEAREST), 75)
    right, shifted = evidence(big, claim(8)), evidence(big, claim(8, -4))
    assert right.contrast > 1 > 0 > shifted.contrast
    assert right.lines > 1
    assert verdict(right, NEAREST, small=False) is Verdict.SURE
    assert verdict(shifted, NEAREST, small=False) < Verdict.BELIEVED


def test_soft_cells_must_stand_out_at_nearly_every_line() -> None:
    big = by_pillow(sample("puffin"), 8, Image.Resampling.BICUBIC)
    seen = evidence(big, claim(8, 0, BICUBIC))
    assert verdict(seen, BICUBIC, small=False) is Verdict.SURE
    assert verdict(replace(seen, soft_lines=0.5), BICUBIC, small=False) < Verdict.BELIEVED


def test_a_small_picture_is_believed_to_be_enlarged_only_beyond_doubt() -> None:
    big = jpeg(by_pillow(sample("trawler"), 8, Image.Resampling.NEAREST), 75)
    seen = replace(evidence(big, claim(8)), left=5.0)
    assert verdict(seen, NEAREST, small=False) >= Verdict.BELIEVED
    assert verdict(seen, NEAREST, small=True) is Verdict.DOUBTFUL
    assert verdict(replace(seen, same=1.0), NEAREST, small=True) is Verdict.SURE


@pytest.mark.parametrize("times", [3, 6])
def test_ruggedness_tells_what_was_interpolated(times: int) -> None:
    for way, soft in (("BICUBIC", True), ("BILINEAR", True), ("NEAREST", False)):
        big = by_pillow(sample("puffin"), times, Image.Resampling[way]).astype(np.float32)
        assert (ruggedness(big) < MOST_RUGGED) is soft


def test_blurred_hard_cells_come_back_at_their_own_pitch() -> None:
    """Blurred by OpenCV after enlarging: finer bicubic cells fit nearly as well."""
    truth = sample("trawler")
    big = by_pillow(truth, 8, Image.Resampling.NEAREST)
    native = find_native_grid(cv2.GaussianBlur(big, (0, 0), 1.2))
    assert native.cells == (truth.shape[1], truth.shape[0])
    assert native.kernel == "blurred"


def test_the_blurred_kernel_is_a_box_through_a_gaussian() -> None:
    """Against scipy's filter on a step sampled a hundred times as finely."""
    from scipy.ndimage import gaussian_filter1d

    fine = np.repeat([0.0, 1.0, 0.0, 0.0, 1.0, 1.0], 600)  # cells of 6 px
    wanted = gaussian_filter1d(fine, 1.2 * 100, truncate=6, mode="nearest")[50::100]
    first, weights = sampling(36, 6.0, 0.0, 11, 6, True)
    at = np.clip(first[:, None] + np.arange(weights.shape[1]), 0, 5)
    found = (weights * np.array([0.0, 1, 0, 0, 1, 1])[at]).sum(axis=1)
    np.testing.assert_allclose(found[4:-4], wanted[4:-4], atol=0.005)


def test_faint_cells_under_noise_come_back_at_their_size() -> None:
    """Cells that differ by less than the noise does, so that each one has a range of its own."""
    rng = np.random.default_rng(5)
    faint = 120 + rng.integers(-6, 7, (16, 16, 1)).repeat(3, axis=2)
    big = faint.repeat(8, axis=0).repeat(8, axis=1) + rng.normal(0, 4, (128, 128, 3))
    opaque = np.full((128, 128, 1), 255)
    pixels = np.dstack([np.clip(np.rint(big), 0, 255), opaque]).astype(np.uint8)
    assert find_native_grid(pixels).cells == (16, 16)
    noise = np.dstack([np.clip(rng.normal(120, 6, (128, 128, 3)), 0, 255), opaque])
    assert find_native_grid(noise.astype(np.uint8)).cells is None
