"""Formulas of difference: what they say of hues, lightness and greys."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from img2plate.base.errors import OptionError
from img2plate.colour.difference import delta_E_HyAB
from img2plate.colour.formulas import (
    FORMULAS,
    HUE_WEIGHT,
    delta_E_HyAB_hue,
    find_formula,
    linear2lab_ok_hue,
)
from img2plate.colour.palette_file import find_palette
from img2plate.colour.spaces import hex2srgb, linear2lab, linear2oklab, srgb2linear
from img2plate.plate.shade.match import nearest

colours = st.tuples(*[st.floats(0, 1)] * 3).map(lambda rgb: np.array([rgb]))


@given(one=colours, other=colours)
def test_chroma_is_of_cielab_and_hue_of_oklab(one: np.ndarray, other: np.ndarray) -> None:
    mixed, lab, ok = linear2lab_ok_hue(one)[0], linear2lab(one)[0], linear2oklab(one)[0]
    assert mixed[0] == lab[0]
    if np.hypot(*ok[1:]) > 1e-3:
        assert np.hypot(*mixed[1:]) == pytest.approx(np.hypot(*lab[1:]))
        assert mixed[1] * ok[2] == pytest.approx(mixed[2] * ok[1], abs=1e-9)
    for formula in FORMULAS.values():
        near, far = formula.to_space(one), formula.to_space(other)
        assert formula.pairs(near, near) == pytest.approx(0)
        assert formula.pairs(near, far) == pytest.approx(formula.pairs(far, near))


def test_only_a_turn_in_hue_counts_more() -> None:
    start, paler = np.array([50.0, 40.0, 0.0]), np.array([60.0, 10.0, 0.0])
    turned = np.array([50.0, 0.0, 40.0])
    assert delta_E_HyAB_hue(start, paler) == delta_E_HyAB(start, paler) == 40
    ratio = delta_E_HyAB_hue(start, turned) / delta_E_HyAB(start, turned)
    assert ratio == pytest.approx(HUE_WEIGHT)


@pytest.mark.parametrize("palette", ["harbour-48", "sea-96"])
@pytest.mark.parametrize("wanted", ["#0000B3", "#0040FF", "#0075FF", "#2B46D4", "#000080"])
def test_clear_blues_stay_blue(palette: str, wanted: str) -> None:
    """Seen on plates: candles of #0075FF and a road sign of #2B46D4 came out violet."""
    beads = find_palette(palette)
    colour = srgb2linear(np.array([hex2srgb(wanted)]) / 255)
    (found,) = nearest(colour, beads, difference="hyab-hue")
    assert "blue" in beads.beads[found].name


def test_orange_stays_orange_and_unknown_names_are_refused() -> None:
    beads = find_palette("harbour-48")
    (found,) = nearest(srgb2linear(np.array([hex2srgb("#E89C2C")]) / 255), beads,
                       difference="hyab-hue")  # fmt: skip
    assert beads.beads[found].code == "buo"
    with pytest.raises(OptionError, match="is none of hyab-hue, hyab"):
        find_formula("hyabb")
