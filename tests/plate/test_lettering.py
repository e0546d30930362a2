"""Letters: all heights, every wanted character, true widths, no two letters that touch."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import ndimage

from img2plate.base.errors import OptionError
from img2plate.plate.lettering.face import drawn_heights, find_face
from img2plate.plate.lettering.letter import set_letters

HEIGHTS = [*range(5, 11), *range(12, 17)]
WORDS = "ÀÉÎÕÜßàéîõüçñåøæœŁłŠšŽžĞğŐőÞð€§°«»„“”–—…&@#%0123456789"


@pytest.mark.parametrize("height", HEIGHTS)
def test_capitals_have_the_height_and_accents_are_there(height: int) -> None:
    assert set_letters("HEIZ", height).shape[0] == height
    face = find_face(height)
    for letter in WORDS + "".join(map(chr, range(0x21, 0x7F))):
        assert face.of(letter).beads.any(), letter
    assert set_letters("Ä", height).shape[0] >= height  # the smallest squeeze the letter
    assert not np.array_equal(set_letters("Ä", height), set_letters("A", height))


def test_figures_differ_and_widths_are_true() -> None:
    for height in drawn_heights():
        face = find_face(height)
        drawn = {(g.top, g.beads.shape, g.beads.tobytes()) for g in map(face.of, "0123456789ABCDE")}
        assert len(drawn) == 15
        assert face.of("!").beads.shape[1] < face.of("m").beads.shape[1]


TEXT = st.text(st.sampled_from("AVTLPWyfj70/'.,ÄÉ€ir"), min_size=2, max_size=6)


@given(TEXT, st.sampled_from([5, 7, 9, 14]))
def test_letters_never_touch_not_even_at_corners(text: str, height: int) -> None:
    """So many parts as the letters have by themselves."""
    square = np.ones((3, 3), bool)
    parts = sum(ndimage.label(set_letters(one, height), square)[1] for one in text)
    assert ndimage.label(set_letters(text, height), square)[1] == parts


def test_pairs_are_kerned_but_words_stay_apart() -> None:
    def width(text: str) -> int:
        return set_letters(text, 9).shape[1]

    assert width("LT") < width("L") + width("T") + 1  # nearer than their sides
    assert width("HH") == 2 * width("H") + 1
    assert width("H H") >= width("HH") + 3
    lines = set_letters("one|two", 7)
    assert lines.shape[0] >= 14
    assert lines.shape[1] == max(set_letters("one", 7).shape[1], set_letters("two", 7).shape[1])


@pytest.mark.parametrize(
    ("text", "height", "told"),
    [("PIER ✓", 7, r"U\+2713, check mark"), ("x", 11, "take 10"), ("x", 4, "is not 5 to"),
     ("  ", 7, "no letter"), ("x" * 300, 7, "over 200 letters")],
)  # fmt: skip
def test_what_cannot_be_set_is_named(text: str, height: int, told: str) -> None:
    with pytest.raises(OptionError, match=told):
        set_letters(text, height)
