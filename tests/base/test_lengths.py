"""Paper sizes against ISO 216 and ANSI/ASME Y14.1, and the pairs of options."""

from __future__ import annotations

import pytest
from support import read_table

from img2plate.base.errors import OptionError
from img2plate.base.lengths import PAPERS, mm2points, parse_mm_pair, parse_pair


def test_paper_sizes() -> None:
    rows = {row["name"].split(" ")[0]: row for row in read_table("paper.csv")}
    for name, paper in PAPERS.items():
        row = rows[name]
        assert (paper.width_mm, paper.height_mm) == (
            float(row["width_mm"]),
            float(row["height_mm"]),
        )
        assert mm2points(paper.width_mm) == pytest.approx(float(row["width_pt"]), abs=1e-4)


def test_pairs() -> None:
    assert parse_pair("29x14") == (29, 14)
    assert parse_pair(" 29 × 14 ") == (29, 14)
    assert parse_mm_pair("290x145.5mm") == (290.0, 145.5)
    for wrong in ("29", "0x5", "5x00", "axb", "-3x5", "29x29x29", ""):
        with pytest.raises(OptionError, match="two whole numbers"):
            parse_pair(wrong)
    for wrong in ("0x5", "5x0.0", "x", "1e3x5"):
        with pytest.raises(OptionError, match="two lengths in mm"):
            parse_mm_pair(wrong)
