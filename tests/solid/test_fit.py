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
from img2plate.solid.fit.model import VERDICTS, FitModel, check_bead
from img2plate.solid.fit.opening import opening_of, size_opening
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
    board = 2 * model.pitch_mm * shrink  # a plate that grew does not widen its openings
    assert model.across_mm(t) == pytest.approx(min(2 * p, board) - w - t)


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
    "text",
    [
        "",
        "4",
        "4:x",
        "4:75:25:well",
        "4:75:25:holds:5",
        "-4:75",
        "25:75.2",
        "4:25:75",
        "nan:75.2",
        "3.9:inf",
        "3.9:75.2:nan",
        "4:75:25:40:holds",
    ],
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
        assert size == pytest.approx(model.opening_mm(cells, t))
        assert size >= mm + clearance - 1e-6
        assert cells == 1 or model.opening_mm(cells - 1, t) < mm + clearance


@given(
    st.floats(0.05, 0.4), st.floats(0.95, 1.0), st.floats(-0.4, 0.4), st.integers(1, 30),
    st.floats(0.5, 40),
)  # fmt: skip
def test_pressing_longer_never_widens_an_opening(
    share: float, shrink: float, inset: float, cells: int, mm: float
) -> None:
    """So what passes at one thickness passes at every greater one, without a gap between."""
    model = FitModel(share=share, shrink=shrink, inset_mm=inset)
    sizes = [model.opening_mm(cells, t) for t in model.thicknesses()]
    assert sizes == sorted(sizes)
    found = opening_of(model, (cells, 1), (mm, 0.5), 4.0, 0.5).passes
    passing = [t for t, size in zip(model.thicknesses(), sizes, strict=True) if size >= mm + 0.5]
    passing = [t for t in passing if model.opening_mm(1, t) >= 1]
    assert found == (((passing[0], passing[-1]),) if passing else ())


def test_a_lid_s_longer_tab_counts_where_one_plate_has_grown() -> None:
    model = FitModel()
    assert model.verdict(2.7, 3.2, beads=1) == "tight"
    assert model.verdict(2.7, 3.2, beads=12) == "falls out"
    assert model.verdict(3.4, 3.4, 1) == model.verdict(3.4, 3.4, 12)


def test_play_across_and_squeeze_across_count() -> None:
    """A flat bead leaves much play in a slot one cell wide; a tall one would not go in."""
    flat = FitModel(BeadSize(5.0, 2.6, 3.0))
    assert flat.across_mm(2.4) > flat.limits.play * 5
    assert flat.verdict(2.4) == "falls out"
    tall = FitModel(BeadSize(5.0, 2.6, 6.5))
    assert tall.across_mm(6.4) < -tall.limits.too_tight * 5
    assert tall.verdict(6.4) == "too tight"


def test_ranges_are_listed_one_by_one() -> None:
    """A tall bead is too tight across while thick, and too tight along once it is thin."""
    tall = FitModel(BeadSize(5.0, 2.6, 5.6))
    found = tall.thickness_ranges(("tight",))
    assert len(found) > 1
    for thin, thick in found:
        assert {tall.verdict(t) for t in tall.thicknesses() if thin <= t <= thick} == {"tight"}


@given(st.floats(-0.5, 0.5), st.floats(3.0, 4.5))
def test_a_comb_s_slot_moves_openings(inset: float, t: float) -> None:
    truth = FitModel(inset_mm=inset)
    lengths = (truth.tab_mm(LONG_BEADS, t), truth.tab_mm(SHORT_BEADS, t))
    text = ":".join(f"{mm:.4f}" for mm in (t, *lengths, truth.slot_mm(SHORT_BEADS, t)))
    found = calibrate(FitModel(), [parse_measured(text)])
    assert found.inset_mm == pytest.approx(inset, abs=2e-3)
    assert found.opening_mm(6, t) == pytest.approx(truth.opening_mm(6, t), abs=2e-3)


@pytest.mark.parametrize(
    ("pieces", "word"),
    [
        (["3.9:75.1:25.2:tight", "3.2:75.6:25.6:falls-out"], "felt"),
        (["3.9:75.1:25.2", "3.9:77.2:27.2"], "contradicts"),
        (["3.9:75.1:25.2:24.8", "3.5:75.3:25.3:23.0"], "slots contradict"),
    ],
)
def test_answers_that_contradict_each_other_are_refused(pieces: list[str], word: str) -> None:
    with pytest.raises(OptionError, match=word):
        calibrate(FitModel(), [parse_measured(text) for text in pieces])


@pytest.mark.parametrize(
    ("bead", "pitch"),
    [((6.0, 2.6, 5.0), 5.0), ((float("inf"), 2.6, 5.0), 5.0), ((5.0, float("nan"), 5.0), 5.0),
     ((5.0, 5.5, 5.0), 5.0), ((2.6, 1.3, 2.6), 5.0), ((5.0, 2.6, 5.0), float("nan"))],
)  # fmt: skip
def test_impossible_beads_are_refused(bead: tuple[float, float, float], pitch: float) -> None:
    with pytest.raises(OptionError, match="bead"):
        check_bead(BeadSize(*bead), pitch)


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
