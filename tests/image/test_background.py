"""Clearing, filling and keeping what lies behind the subject."""

from __future__ import annotations

import numpy as np
import pytest

from img2plate.base.errors import OptionError
from img2plate.image.background import apply_background


def boat() -> np.ndarray:
    """A red square with a white window on slightly noisy white."""
    rng = np.random.default_rng(2)
    pixels = np.full((20, 20, 4), 255, np.uint8)
    pixels[..., :3] -= rng.integers(0, 4, (20, 20, 1), dtype=np.uint8)
    pixels[5:15, 5:15, :3] = (200, 30, 20)
    pixels[9:11, 9:11, :3] = 255
    return pixels


def test_clear_takes_the_outside_and_leaves_the_window() -> None:
    cleared, notes = apply_background(boat(), "clear")
    alpha = cleared[..., 3] > 0
    assert alpha.sum() == 100
    assert alpha[5:15, 5:15].all()
    assert not notes


def test_clear_says_when_there_is_no_even_border() -> None:
    noise = np.random.default_rng(1).integers(0, 256, (20, 20, 4), dtype=np.uint8)
    noise[..., 3] = 255
    same, notes = apply_background(noise, "clear")
    assert (same == noise).all()
    assert "nothing cleared" in notes[0]


def test_fill_mixes_in_linear_light() -> None:
    """Half white over black is half the light: sRGB 188 (IEC 61966-2-1)."""
    pixels = np.array([[[255, 255, 255, 128], [9, 9, 9, 0], [1, 2, 3, 255]]], np.uint8)
    filled, _ = apply_background(pixels, "#000000")
    assert filled[0].tolist() == [[188, 188, 188, 255], [0, 0, 0, 255], [1, 2, 3, 255]]


def test_anything_else_is_refused() -> None:
    with pytest.raises(OptionError, match="`background`"):
        apply_background(boat(), "sea")
