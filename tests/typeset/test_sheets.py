"""The sheets, read back by pypdfium2, which is not the writer, and measured in pixels."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pypdfium2
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from support import make_palette, make_plate

from img2plate.base.errors import OptionError
from img2plate.base.lengths import PAPERS
from img2plate.plate.plate import Plate
from img2plate.split.tiles import Tile, split
from img2plate.tally.counts import count
from img2plate.typeset.sheets import write_sheets
from img2plate.typeset.sheets.geometry import OVERLAP, Page, parts_of, turn

DPI = 300
MM = DPI / 25.4
FIRST_TILE_PAGE = 2


def write(path: Path, plate: Plate, *, board=(29, 29), paper: str = "A4") -> None:
    cut = split(plate, board)
    write_sheets(path, plate, cut, count(plate, cut), paper=PAPERS[paper])


def render(path: Path, number: int, dpi: float = DPI) -> np.ndarray:
    document = pypdfium2.PdfDocument(path)
    try:
        picture = document[number].render(scale=dpi / 72).to_numpy()[..., :3]
        return picture[..., ::-1].copy()  # pdfium gives blue first
    finally:
        document.close()


def page_of(plate: Plate, board=(29, 29), paper: str = "A4") -> Page:
    return turn(PAPERS[paper], board, plate.palette.pitch_mm)


@pytest.mark.parametrize("paper", list(PAPERS))
def test_page_sizes_are_those_of_the_paper_standards(tmp_path: Path, paper: str) -> None:
    """ISO 216 for A4 and A3, ANSI/ASME Y14.1 for the others; every page, portrait or landscape."""
    write(tmp_path / "s.pdf", make_plate(40, 30), paper=paper)
    document = pypdfium2.PdfDocument(tmp_path / "s.pdf")
    wanted = sorted((PAPERS[paper].width_mm, PAPERS[paper].height_mm))
    for page in document:
        size = sorted(points * 25.4 / 72 for points in page.get_size())
        assert size == pytest.approx(wanted, abs=0.001)
    document.close()


@pytest.mark.parametrize("pitch", [5.0, 2.6])
def test_pitch_over_28_pegs_within_a_fiftieth_of_a_mm(tmp_path: Path, pitch: float) -> None:
    """Two pegs of one colour, 28 apart, each way; their first edges are measured at 1200 dpi.

    Pegs 3 and 31: no heavier line of the grid lies on their edges.
    """
    palette = make_palette(2).with_pitch(pitch)
    cells = np.full((40, 40), -1, np.int16)
    cells[14, [3, 31]] = 0
    cells[[3, 31], 14] = 1
    plate = Plate(cells, palette)
    write(tmp_path / "s.pdf", plate, board=(40, 40), paper="A3")
    dpi, page = 1200, page_of(plate, (40, 40), "A3")
    picture = render(tmp_path / "s.pdf", FIRST_TILE_PAGE, dpi).astype(int)
    scale = dpi / 25.4
    lines = (
        (picture[round((page.top + 14.2 * pitch) * scale)], palette.srgb[0], page.left),
        (picture[:, round((page.left + 14.2 * pitch) * scale)], palette.srgb[1], page.top),
    )
    for line, colour, start in lines:
        like = np.flatnonzero(np.abs(line - colour).max(axis=1) < 30) / scale
        first, last = like[like > start][0], like[like > start + 25 * pitch][0]
        assert last - first == pytest.approx(28 * pitch, abs=0.02)


def test_rulers_are_100_mm_within_a_twentieth(tmp_path: Path) -> None:
    plate = make_plate(29, 29)
    write(tmp_path / "s.pdf", plate)
    dpi, page = 1200, page_of(plate)
    scale = dpi / 25.4
    dark = render(tmp_path / "s.pdf", FIRST_TILE_PAGE, dpi).mean(axis=2) < 128
    y = page.top + 29 * 5.0 + 13
    across = np.flatnonzero(dark[round((y + 0.5) * scale), : round(150 * scale)])
    # Each tick is a 0.2 mm line centred on its place: first to last, middle to middle.
    ticks = across[np.r_[True, np.diff(across) > 5]]
    assert (ticks[-1] - ticks[0]) / scale == pytest.approx(100, abs=0.05)
    down = np.flatnonzero(dark[:, round((8 + 4 - 0.7) * scale)])
    down = down[down > (page.top - 1) * scale]
    ticks = down[np.r_[True, np.diff(down) > 5]]
    assert (ticks[10] - ticks[0]) / scale == pytest.approx(100, abs=0.05)


def read_back(path: Path, plate: Plate, board: tuple[int, int], paper: str) -> np.ndarray:
    """Rebuild a plate's cells from its pages: the colour near each cell's corner."""
    page = page_of(plate, board, paper)
    cut = split(plate, board)
    cells = np.full(plate.cells.shape, -2, np.int16)
    table = np.vstack([plate.palette.srgb, [[255, 255, 255]]]).astype(int)
    number = FIRST_TILE_PAGE
    for tile in cut.tiles:
        for part in parts_of(tile, page):
            picture = render(path, number).astype(int)
            number += 1
            y = (page.top + (np.arange(part.height) + 0.13) * page.pitch) * MM
            x = (page.left + (np.arange(part.width) + 0.13) * page.pitch) * MM
            seen = picture[y.round().astype(int)[:, None], x.round().astype(int)]
            index = np.abs(seen[:, :, None, :] - table).sum(axis=3).argmin(axis=2)
            got = np.where(index == len(table) - 1, -1, index)
            cells[part.y : part.y + part.height, part.x : part.x + part.width] = got
    return cells


@settings(
    deadline=None, max_examples=12, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(
    st.integers(1, 45), st.integers(1, 45), st.sampled_from([(29, 29), (14, 20), (60, 58)]),
    st.sampled_from([2.6, 5.0, 7.3]), st.sampled_from(list(PAPERS)),
)  # fmt: skip
def test_the_plate_is_read_back_from_the_print(
    tmp_path, width, height, board, pitch, paper
) -> None:
    plate = make_plate(width, height, colours=10, seed=width * 50 + height)
    plate = Plate(plate.cells, plate.palette.with_pitch(pitch))
    write(tmp_path / "s.pdf", plate, board=board, paper=paper)
    np.testing.assert_array_equal(read_back(tmp_path / "s.pdf", plate, board, paper), plate.cells)


def test_a_wrong_print_is_noticed(tmp_path: Path) -> None:
    """The comparer is tested too."""
    plate = make_plate(20, 20)
    write(tmp_path / "s.pdf", plate)
    other = plate.cells.copy()
    other[7, 9] = (other[7, 9] + 1) % 12
    assert (read_back(tmp_path / "s.pdf", plate, (29, 29), "A4") != other).sum() == 1


def test_the_dialog_is_asked_not_to_scale_and_fonts_are_inside(tmp_path: Path) -> None:
    write(tmp_path / "s.pdf", make_plate(20, 20))
    data = (tmp_path / "s.pdf").read_bytes()
    assert b"/PrintScaling /None" in data
    assert data.count(b"/FontFile2") >= 2
    document = pypdfium2.PdfDocument(tmp_path / "s.pdf")
    text = "\n".join(page.get_textpage().get_text_range() for page in document)
    document.close()
    for words in ("A1", "this way up", "100 mm", "Count sheet", "Board map", "children under 3",
                  "Follow local rules"):  # fmt: skip
        assert words in text, words


def test_same_plate_same_bytes(tmp_path: Path) -> None:
    write(tmp_path / "a.pdf", make_plate(40, 30))
    write(tmp_path / "b.pdf", make_plate(40, 30))
    assert (tmp_path / "a.pdf").read_bytes() == (tmp_path / "b.pdf").read_bytes()


def test_seam_marks_of_neighbouring_pages_meet(tmp_path: Path) -> None:
    """Accent ticks left of B1 and right of A1 lie on the same heights, within 0.05 mm."""
    plate = make_plate(58, 29)
    write(tmp_path / "s.pdf", plate)
    page, dpi = page_of(plate), 1200
    scale = dpi / 25.4
    heights = []
    for number, x in ((0, page.left + 29 * 5.0 + 3.5), (1, page.left - 3.5)):
        picture = render(tmp_path / "s.pdf", FIRST_TILE_PAGE + number, dpi).astype(int)
        column = picture[:, round(x * scale)]
        red = np.flatnonzero((column[:, 0] > 150) & (column[:, 2] < 90))
        groups = np.split(red, np.flatnonzero(np.diff(red) > 1) + 1)
        lines = [g for g in groups if 0.25 < len(g) / scale < 0.45]
        heights.append([g.mean() / scale for g in lines])
    assert len(heights[0]) == len(heights[1]) == 3
    np.testing.assert_allclose(heights[0], heights[1], atol=0.05)


@given(st.integers(1, 200), st.integers(1, 200), st.floats(2.0, 9.0))
def test_parts_cover_a_tile_and_overlap(width: int, height: int, pitch: float) -> None:
    tile = Tile(0, 0, 7, 3, width, height)
    page = turn(PAPERS["A4"], (width, height), pitch)
    seen = np.zeros((height, width), int)
    for part in parts_of(tile, page):
        assert part.width <= page.pegs_across
        assert part.height <= page.pegs_down
        seen[part.y - 3 : part.y - 3 + part.height, part.x - 7 : part.x - 7 + part.width] += 1
    assert seen.min() == 1
    if width > page.pegs_across:
        assert (seen.max(axis=0) >= 2).sum() >= OVERLAP


def test_a_pitch_that_no_paper_takes(tmp_path: Path) -> None:
    plate = Plate(np.zeros((5, 5), np.int16), make_palette(1).with_pitch(40.0))
    with pytest.raises(OptionError, match=r"--pitch.*--paper"):
        write(tmp_path / "s.pdf", plate)


def test_two_hundred_colours_have_a_legend_on_further_pages(tmp_path: Path) -> None:
    palette = make_palette(200)
    plate = Plate(np.arange(200, dtype=np.int16).reshape(10, 20), palette)
    write(tmp_path / "s.pdf", plate)
    document = pypdfium2.PdfDocument(tmp_path / "s.pdf")
    text = "\n".join(page.get_textpage().get_text_range() for page in document)
    document.close()
    assert all(f"(c{i})" in text for i in range(200))
