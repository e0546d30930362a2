"""Sizes are arithmetic: aspect, boxes, whole multiples, limits."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from img2plate.base.errors import OptionError, SizeError
from img2plate.image.sizing import SizeWish, frame, frame_sprite, parse_crop

SIDES = st.integers(1, 3000)


@given(SIDES, SIDES, st.integers(1, 400), st.integers(1, 400))
def test_kept_aspect_fits_the_box_and_touches_a_side(w, h, across, down) -> None:
    (cols, rows), box = (framing := frame((w, h), SizeWish(across, down))).size, framing.box
    assert 1 <= cols <= across
    assert 1 <= rows <= down
    assert cols == across or rows == down
    assert box == (0, 0, w, h)


@given(SIDES, SIDES, st.integers(1, 400), st.integers(1, 400))
def test_cover_lies_inside_and_contain_outside_the_picture(w, h, across, down) -> None:
    for fit in ("cover", "contain"):
        framing = frame((w, h), SizeWish(across, down, fit))
        left, top, right, bottom = framing.box
        assert framing.size == (across, down)
        assert framing.step[0] == pytest.approx(framing.step[1])
        inside = left >= -1e-6 and top >= -1e-6 and right <= w + 1e-6 and bottom <= h + 1e-6
        outside = left <= 1e-6 and top <= 1e-6 and right >= w - 1e-6 and bottom >= h - 1e-6
        assert inside if fit == "cover" else outside


def test_one_measure_gives_the_other() -> None:
    assert frame((400, 300), SizeWish(width=58)).size == (58, 44)
    assert frame((400, 300), SizeWish(height=30)).size == (40, 30)
    assert frame((4000, 1), SizeWish(width=10)).size == (10, 1)


def test_a_sprite_takes_whole_multiples() -> None:
    assert frame_sprite((16, 24), None).size == (16, 24)
    assert frame_sprite((16, 24), SizeWish(58, 58)).size == (32, 48)
    framing = frame_sprite((16, 24), SizeWish(29, 29, "contain"))
    assert (framing.size, framing.step) == ((29, 29), (1, 1))
    assert framing.box == (-6, -2, 23, 27)
    assert frame_sprite((16, 24), SizeWish(width=40)).size == (40, 60)


def test_wrong_sizes() -> None:
    with pytest.raises(SizeError, match="5000 x 5000"):
        frame((10, 10), SizeWish(5000, 5000))
    with pytest.raises(SizeError, match="at least 1 bead"):
        frame((10, 10), SizeWish(0, 0))
    with pytest.raises(OptionError, match="both measures"):
        frame((10, 10), SizeWish(width=5, fit="cover"))


def test_crop() -> None:
    assert parse_crop("1, 2,3,4") == (1, 2, 3, 4)
    parse_crop("1, 2,3,4").check((10, 10))
    for wrong in ("1,2,3", "a,b,c,d", "0,0,0,5", "8,8,3,3", "-1,0,3,3"):
        with pytest.raises(OptionError, match="`crop`"):
            parse_crop(wrong).check((10, 10))
