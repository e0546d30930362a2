"""Tones of a picture that a palette cannot reach: counted right, and none that it can."""

from __future__ import annotations

import numpy as np
import pytest
from skimage import data
from skimage.color import deltaE_ciede2000, rgb2lab

from img2plate.colour.gamut import GAP
from img2plate.colour.names import nearest_keywords
from img2plate.colour.palette import Bead, Palette
from img2plate.colour.palette_file import find_palette
from img2plate.colour.picture_gamut import picture_gaps

GREYS = Palette("greys", tuple(Bead(str(v), "", (v, v, v)) for v in range(0, 256, 15)))


def picture(*parts: tuple[tuple[int, int, int], int]) -> np.ndarray:
    """(1, n, 4) so many pixels of each colour."""
    rows = [np.tile([*srgb, 255], (count, 1)) for srgb, count in parts]
    return np.concatenate(rows)[None].astype(np.uint8)


def test_what_is_out_of_reach_is_told_with_its_part_and_nearest_bead() -> None:
    gaps = picture_gaps(picture(((200, 40, 40), 30), ((40, 40, 200), 10), ((120,) * 3, 60)), GREYS)
    assert gaps.share == pytest.approx(0.4)
    assert gaps.far.sum() == 40
    assert gaps.far[0, :40].all()
    red, blue = gaps.tones
    assert (red.share, blue.share) == (pytest.approx(0.3), pytest.approx(0.1))
    assert nearest_keywords(np.array([red.srgb, blue.srgb], np.uint8)) == [
        "firebrick",
        "mediumblue",
    ]
    assert all(tone.distance > GAP for tone in gaps.tones)


def test_a_photo_s_far_pixels_are_those_of_scikit_image() -> None:
    pixels = np.dstack([data.astronaut()[::4, ::4], np.full((128, 128), 255, np.uint8)])
    palette = find_palette("quay-24")
    lab, beads = rgb2lab(pixels[..., :3]), rgb2lab(palette.srgb[None] / 255)[0]
    away = np.min([deltaE_ciede2000(lab, np.broadcast_to(b, lab.shape)) for b in beads], axis=0)
    gaps = picture_gaps(pixels, palette)
    sure = np.abs(away - GAP) > 0.05  # its sRGB matrix is a rounded one
    assert (gaps.far == (away > GAP))[sure].all()
    assert sum(tone.share for tone in gaps.tones) == pytest.approx(gaps.share)


def test_see_through_pixels_and_pictures_within_reach_have_no_gaps() -> None:
    red = picture(((200, 40, 40), 5), ((120,) * 3, 5))
    red[0, :5, 3] = 0
    gaps = picture_gaps(red, GREYS)
    assert gaps.tones == ()
    assert gaps.share == 0
    assert not gaps.far.any()


def test_the_nearest_bead_and_its_distance_are_those_of_the_pixels() -> None:
    shades = [((200, 40, 40), 30), ((190, 45, 45), 10)]
    (red,) = picture_gaps(picture(*shades, ((120,) * 3, 60)), GREYS, most=1).tones
    beads = rgb2lab(GREYS.srgb[None] / 255)[0]
    tones = [np.broadcast_to(rgb2lab(np.array(c) / 255.0), beads.shape) for c, _ in shades]
    away = [deltaE_ciede2000(tone, beads) for tone in tones]
    assert red.nearest == int(away[0].argmin())
    assert red.share == pytest.approx(0.4)
    mean = (30 * away[0].min() + 10 * away[1].min()) / 40
    assert red.distance == pytest.approx(mean, abs=0.05)


def test_a_pixel_counts_from_half_on() -> None:
    half = picture(((200, 40, 40), 4), ((120,) * 3, 4))
    half[0, :2, 3], half[0, 2:4, 3] = 127, 128
    gaps = picture_gaps(half, GREYS)
    assert gaps.far[0].tolist() == [False, False, True, True] + [False] * 4
    assert gaps.share == pytest.approx(2 / 6)
