"""Turning the paper, printers that are off, wrong options."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from img2plate.base.errors import OptionError
from img2plate.base.lengths import A4, PAPERS
from img2plate.base.printer import parse_rulers
from img2plate.typeset.sheets.geometry import pages_for, turn
from img2plate.typeset.sheets.printing import Printing, is_mirrored


def test_what_rulers_measured() -> None:
    assert not Printing(A4).is_corrected
    assert parse_rulers("99.4") == (99.4, 99.4)
    assert parse_rulers(" 99.4 x 100.2 mm") == (99.4, 100.2)
    for wrong in ("a", "9.94", "-99", "99x", "99,4", "200", "0"):
        with pytest.raises(OptionError, match="`printer_measured`"):
            Printing(A4, measured_mm=parse_rulers(wrong))


def test_faces_and_margins() -> None:
    assert is_mirrored("board-side")
    assert not is_mirrored("iron-side")
    with pytest.raises(OptionError, match="`front`"):
        is_mirrored("upside")
    for wrong in (-1, 2.9, 41, float("nan")):
        with pytest.raises(OptionError, match="`margin_mm`"):
            Printing(A4, margin_mm=wrong)


@given(st.sampled_from(list(PAPERS)), st.floats(2.0, 8.0), st.floats(85, 118), st.floats(85, 118),
       st.tuples(st.integers(5, 80), st.integers(5, 80)))  # fmt: skip
def test_the_paper_is_turned_so_that_fewest_pages_are_needed(paper, pitch, short, long, size):
    printing = Printing(PAPERS[paper], measured_mm=(short, long))
    page = turn([size], pitch, printing)
    sides = sorted((page.width * page.stretch[0], page.height * page.stretch[1]))
    wanted = sorted((PAPERS[paper].width_mm, PAPERS[paper].height_mm))
    assert sides == pytest.approx(wanted)
    # The stretch belongs to the paper's side, whichever way it is turned.
    upright = page.width * page.stretch[0] < page.height * page.stretch[1]
    assert page.stretch == pytest.approx((100 / short, 100 / long)[:: 1 if upright else -1])
    for other in (turn([size[::-1]], pitch, printing),):
        assert pages_for(page, size) <= pages_for(other, size) or other == page


def test_a_smaller_margin_holds_more_pegs() -> None:
    narrow, wide = (
        turn([(29, 29)], 5.0, Printing(PAPERS["A4"], margin_mm=margin)) for margin in (4, 8)
    )
    assert narrow.pegs_across > wide.pegs_across
