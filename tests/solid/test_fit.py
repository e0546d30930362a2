"""The fit model: volume kept, the common practice shown, measurements recovered."""

from __future__ import annotations

from math import pi

import pytest
from hypothesis import given
from hypothesis import strategies as st

from img2plate.base.bead import BeadSize
from img2plate.base.errors import OptionError
from img2plate.colour.palette_file import find_palette
from img2plate.solid.fit.coins import find_coin, read_coins
from img2plate.solid.fit.measured import (
    LONG_BEADS,
    SHORT_BEADS,
    Measured,
    calibrate,
    parse_measured,
)
from img2plate.solid.fit.model import VERDICTS, FitModel
from img2plate.solid.fit.opening import size_opening
from img2plate.solid.fit.trial import trial_plate

USUAL_MM, LONGER_MM, TOO_LONG_MM = 4.0, 3.0, 2.5
"""Pressed as usual, longer, too long: common practice, no source."""
THICKNESS = st.floats(2.0, 5.0)


def test_cells_by_volume_as_worked_out_by_hand() -> None:
    """72% at 4 mm and 95% at 3 mm, closed near 2.9 mm: bead size from memory."""
    model = FitModel()
    assert model.fill(4.0) == pytest.approx(0.716, abs=0.0005)
    assert model.fill(3.0) == pytest.approx(0.955, abs=0.0005)
    assert model.closed_mm == pytest.approx(pi / 4 * (5.0**2 - 2.6**2) * 5.0 / 25, abs=1e-9)
    assert model.hole_mm(2.8) == 0 < model.hole_mm(3.0) < model.hole_mm(4.0) < 2.6


def test_the_common_practice_comes_out() -> None:
    model = FitModel()
    assert model.verdict(USUAL_MM) == "holds"
    assert model.verdict(LONGER_MM) == "tight"
    assert model.verdict(TOO_LONG_MM) == "too tight"
    assert model.verdict(4.95) == "falls out"


@given(THICKNESS, THICKNESS)
def test_pressing_longer_only_tightens(one: float, two: float) -> None:
    model = FitModel()
    thin, thick = sorted((one, two))
    assert model.along_mm(thin) <= model.along_mm(thick) + 1e-12
    assert VERDICTS.index(model.verdict(thin)) >= VERDICTS.index(model.verdict(thick))
    assert model.width_mm(thin) >= model.width_mm(thick) - 1e-12


@given(THICKNESS, st.integers(1, 30), st.floats(0.9, 1.0))
def test_slot_and_tab_follow_the_stated_formulas(t: float, n: int, shrink: float) -> None:
    model = FitModel(shrink=shrink)
    p, w = model.cell_mm(t), model.width_mm(t)
    assert model.slot_mm(n, t) == pytest.approx((n + 1) * p - w)
    assert model.tab_mm(n, t) == pytest.approx((n - 1) * p + w)
    assert model.slot_mm(n, t) - model.tab_mm(n, t) == pytest.approx(model.along_mm(t))
    assert model.across_mm(t) == pytest.approx(2 * p - w - t)


@given(THICKNESS, THICKNESS)
def test_a_lid_of_another_thickness_is_slot_less_tab(walls: float, lid: float) -> None:
    model = FitModel()
    clearance = model.slot_mm(4, walls) - model.tab_mm(4, lid)
    assert model.between_mm(walls, walls) == pytest.approx(model.along_mm(walls))
    if min(walls, lid) >= model.closed_mm:
        assert model.between_mm(walls, lid) == pytest.approx(clearance)
    assert model.verdict(walls, walls) == model.verdict(walls)


def test_a_smaller_bead_of_the_same_shape_fits_the_same() -> None:
    small = FitModel(BeadSize(2.6, 2.6 * 2.6 / 5, 2.6), 2.6)
    for t in (4.8, 4.0, 3.0, 2.5):
        assert small.verdict(t * 2.6 / 5) == FitModel().verdict(t)


@given(
    st.floats(0.05, 0.4), st.floats(4.8, 5.05), st.floats(0.95, 1.0),
    st.lists(st.floats(2.9, 4.6), min_size=2, max_size=4, unique=True),
)  # fmt: skip
def test_what_a_bead_does_is_found_from_its_test_pieces(
    share: float, loose: float, shrink: float, thicknesses: list[float]
) -> None:
    """Pieces cut from a known model give that model back, its shrinking too."""
    if max(thicknesses) - min(thicknesses) < 0.4:
        thicknesses = [4.4, 3.2]
    truth = FitModel(share=share, loose_mm=loose, shrink=shrink)
    pieces = [
        Measured(t, truth.tab_mm(LONG_BEADS, t), truth.tab_mm(SHORT_BEADS, t)) for t in thicknesses
    ]
    found = calibrate(FitModel(), pieces)
    assert found.share == pytest.approx(share, rel=1e-6)
    assert found.loose_mm == pytest.approx(loose, rel=1e-6)
    assert found.shrink == pytest.approx(shrink, rel=1e-9)


def test_one_piece_goes_through_its_own_point() -> None:
    piece = parse_measured("3.8:75.4mm")
    found = calibrate(FitModel(), [piece])
    assert found.tab_mm(LONG_BEADS, 3.8) == pytest.approx(75.4)


@pytest.mark.parametrize("felt", VERDICTS)
@pytest.mark.parametrize("t", [4.4, 3.6, 3.0])
def test_a_felt_verdict_is_believed(felt: str, t: float) -> None:
    model = FitModel()
    piece = Measured(t, model.tab_mm(LONG_BEADS, t), model.tab_mm(SHORT_BEADS, t), felt)
    found = calibrate(model, [piece])
    assert found.verdict(t) == felt
    assert list(found.limits.borders) == sorted(found.limits.borders)


@pytest.mark.parametrize(
    "text", ["", "4", "4:x", "4:75:25:well", "4:75:25:holds:5", "-4:75", "25:75.2", "4:25:75"]
)
def test_a_slip_in_a_measurement_is_refused(text: str) -> None:
    with pytest.raises(OptionError, match="`measured`"):
        calibrate(FitModel(), [parse_measured(text)])


@given(st.floats(0.5, 100), st.floats(0.5, 20), st.floats(2.0, 5.0), st.floats(0, 2))
def test_an_opening_is_the_smallest_that_lets_the_object_pass(
    wide: float, thick: float, t: float, clearance: float
) -> None:
    model = FitModel()
    opening = size_opening(model, wide, thick, t, clearance_mm=clearance)
    for cells, mm, size in zip(opening.cells, (wide, thick), opening.size_mm, strict=True):
        assert size == pytest.approx(model.slot_mm(cells, t))
        assert size >= mm + clearance - 1e-6
        assert cells == 1 or model.slot_mm(cells - 1, t) < mm + clearance


def test_every_coin_has_a_source_and_passes_its_opening() -> None:
    coins = read_coins()
    assert len(coins) > 30
    for coin in coins:
        assert len(coin.source) > 20
        opening = size_opening(FitModel(), coin.diameter_mm, coin.thickness_mm, 4.0)
        assert min(opening.play_mm) >= 0.5 - 1e-9
        assert find_coin(coin.label).diameter_mm >= coin.diameter_mm


def test_coins_by_name_take_the_largest_printed_thickness() -> None:
    """1 euro: 2.125 mm in Regulation (EC) 975/98, 2.33 mm in later pages: 2.33 counts."""
    assert find_coin("1 euro").thickness_mm == 2.33
    assert find_coin("gb 5 pence").thickness_mm == 1.89
    with pytest.raises(OptionError, match="AU, CA have it"):
        find_coin("5 cents")
    with pytest.raises(OptionError, match="EU 2 euro"):
        find_coin("2 euros")


def test_the_test_piece_is_two_pieces_whose_teeth_fit() -> None:
    from scipy.ndimage import label

    plate = trial_plate(find_palette("harbour-48"))
    parts, count = label(plate.filled)
    assert count == 2
    comb, strip = parts[0] == 1, parts[8] == 2
    assert (comb ^ strip).all()
    assert plate.filled[9].sum() == LONG_BEADS
    assert plate.filled[12].sum() == SHORT_BEADS == LONG_BEADS - plate.filled[3].sum()
