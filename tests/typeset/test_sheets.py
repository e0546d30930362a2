"""The sheets, read back by pypdfium2, which is not the writer, and measured in pixels."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pypdfium2
import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from reader import TilePage, page_words, read_tile_page, render, tile_pages
from support import make_palette, make_plate

from img2plate.base.errors import OptionError
from img2plate.base.lengths import PAPERS
from img2plate.plate.plate import Plate
from img2plate.split.marks import seam_pegs
from img2plate.split.rounds import plan_rounds
from img2plate.split.tiles import Split, Tile, split
from img2plate.tally.bags import parse_bags
from img2plate.tally.counts import count
from img2plate.tally.effort import colour_changes
from img2plate.tally.runs import runs_text
from img2plate.typeset.sheets import write_sheets
from img2plate.typeset.sheets.board_map import map_in
from img2plate.typeset.sheets.geometry import OVERLAP, Page, parts_of, turn
from img2plate.typeset.sheets.map_names import name_boards, number_seams
from img2plate.typeset.sheets.printing import Printing
from img2plate.typeset.sheets.sheet import Sheet


def write(
    path: Path,
    plate: Plate,
    *,
    board=(29, 29),
    paper: str = "A4",
    seams: str = "full",
    owned=0,
    **printing,
) -> Split:
    cut = split(plate, board, seams=seams, smallest=1)
    rounds = plan_rounds(plate, cut, owned) if owned else ()
    counts = count(plate, cut, spare_percent=5, sold=parse_bags("1000", "2.40"))
    write_sheets(path, plate, cut, counts, Printing(PAPERS[paper], **printing), rounds=rounds)
    return cut


def page_of(plate: Plate, board=(29, 29), paper: str = "A4") -> Page:
    return turn([board], plate.palette.pitch_mm, Printing(PAPERS[paper]))


def text_of(path: Path) -> str:
    return "\n".join(page_words(path))


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
    page, scale = page_of(plate, (40, 40), "A3"), 1200 / 25.4
    for axis, colour in enumerate(palette.srgb.astype(int)):
        start, other = (page.left, page.top) if axis == 0 else (page.top, page.left)
        line = strip(tmp_path / "s.pdf", other + 14.2 * pitch, axis)
        like = np.flatnonzero(np.abs(line - colour).max(axis=1) < 30) / scale
        first, last = like[like > start][0], like[like > start + 25 * pitch][0]
        assert last - first == pytest.approx(28 * pitch, abs=0.02)


def strip(path: Path, at: float, axis: int) -> np.ndarray:
    """(n, 3) pixels at 1200 dpi along a line across (axis 0) or down the first tile page."""
    mm = (0.0, at, 200.0, at + 0.5) if axis == 0 else (at, 0.0, at + 0.5, 200.0)
    first = next(n for n, words in enumerate(page_words(path)) if "this way up" in words)
    picture = render(path, first, 1200, mm=mm).astype(int)
    return picture[2] if axis == 0 else picture[:, 2]


def test_rulers_are_100_mm_within_a_twentieth(tmp_path: Path) -> None:
    plate = make_plate(29, 29)
    write(tmp_path / "s.pdf", plate)
    page, scale = page_of(plate), 1200 / 25.4
    # Each tick is a 0.2 mm line: from first to last, edge to same edge.
    for at, axis in ((page.top + 29 * 5.0 + 13.5, 0), (8 + 4 - 0.7, 1)):
        dark = strip(tmp_path / "s.pdf", at, axis).mean(axis=1) < 128
        edges = np.flatnonzero(dark[1:] & ~dark[:-1]) / scale
        edges = edges[edges > (page.left, page.top)[axis] - 1]
        assert edges[10] - edges[0] == pytest.approx(100, abs=0.05)
        assert np.diff(edges[:11]) == pytest.approx([10] * 10, abs=0.05)


def read_back(pages: list[TilePage], plate: Plate) -> np.ndarray:
    """Rebuild a plate from its pages alone; overlapping pages must agree."""
    cells = np.full(plate.cells.shape, -1, np.int16)
    seen = np.zeros(plate.cells.shape, bool)
    for page in pages:
        part = (slice(page.rows[0] - 1, page.rows[1]), slice(page.columns[0] - 1, page.columns[1]))
        got = page.cells(plate.palette.srgb, plate.palette.pitch_mm)
        assert (cells[part][seen[part]] == got[seen[part]]).all()
        cells[part], seen[part] = got, True
    return cells


@settings(
    deadline=None,
    max_examples=12,
    phases=[Phase.explicit, Phase.reuse, Phase.generate],
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(
    st.integers(1, 45), st.integers(1, 45), st.sampled_from([(29, 29), (23, 20), (60, 58)]),
    st.sampled_from([2.6, 5.0, 7.3]), st.sampled_from(list(PAPERS)),
    st.sampled_from(["full", "even", "quiet"]), st.booleans(),
    st.sampled_from([(100.0, 100.0), (99.4, 99.4), (98.2, 101.7)]),
)  # fmt: skip
def test_the_plate_is_read_back_from_the_print(
    tmp_path, width, height, board, pitch, paper, seams, mirrored, measured
) -> None:
    """Every cell, on random plates, by a reader that knows the rulers and the words only.

    Also on a printer that is off: what is drawn too large by 100/measured comes out true.
    """
    plate = make_plate(width, height, colours=10, seed=width * 50 + height)
    plate = Plate(plate.cells, plate.palette.with_pitch(pitch), "nets")
    path = tmp_path / "s.pdf"
    cut = write(path, plate, board=board, paper=paper, seams=seams,
                mirrored=mirrored, measured_mm=measured)  # fmt: skip
    pages = tile_pages(path)
    np.testing.assert_array_equal(read_back(pages, plate), plate.cells)
    marks: dict[int, list[np.ndarray]] = {}
    for page in pages:
        per_mm = 300 / 25.4
        short, long = (m / 100 for m in measured)
        if page.picture.shape[1] > page.picture.shape[0]:
            short, long = long, short
        assert page.x_per_mm * short / per_mm == pytest.approx(1, abs=0.0005)
        assert page.y_per_mm * long / per_mm == pytest.approx(1, abs=0.0005)
        assert page.mirrored == mirrored
        collect_marks(page, cut, pitch, marks)
    for seam in cut.seams:
        ends = marks.get(seam.number, [])
        tiles = seam.first, seam.second
        if len(ends) == 2 and all((tile.of(plate.cells) >= 0).any() for tile in tiles):
            assert len(ends[0]) == len(seam_pegs(seam))
            np.testing.assert_allclose(ends[0], ends[1], atol=0.05)
            wanted = (np.array(seam_pegs(seam)) + 0.5) * pitch
            np.testing.assert_allclose(ends[0], wanted, atol=0.05)


def collect_marks(page: TilePage, cut: Split, pitch: float, marks: dict) -> None:
    """Add a page's ticks on each seam of its tile, when the page shows the whole tile."""
    tile = next(tile for tile in cut.tiles if tile.name == page.tile)
    whole = (tile.x + 1, tile.x + tile.width), (tile.y + 1, tile.y + tile.height)
    if (page.columns, page.rows) != whole:
        return
    for seam in cut.seams_of(tile):
        first = seam.first == tile
        if seam.is_vertical:
            edge = "right" if first != page.mirrored else "left"
        else:
            edge = "bottom" if first else "top"
        marks.setdefault(seam.number, []).append(page.marks(edge, pitch))


def test_a_wrong_print_is_noticed(tmp_path: Path) -> None:
    """The comparer is tested too."""
    plate = make_plate(20, 20)
    write(tmp_path / "s.pdf", plate)
    other = plate.cells.copy()
    other[7, 9] = (other[7, 9] + 1) % 12
    assert (read_back(tile_pages(tmp_path / "s.pdf"), plate) != other).sum() == 1


def test_lettering_is_reversed_only_where_the_front_lies_down(tmp_path: Path) -> None:
    """An L of beads as it is printed: its foot points right, on a mirrored sheet left."""
    cells = np.full((8, 8), -1, np.int16)
    cells[1:7, 2] = cells[6, 2:6] = 0
    for mirrored, foot in ((False, (6, 5)), (True, (6, 2))):
        write(tmp_path / "s.pdf", Plate(cells, make_palette(1)), mirrored=mirrored)
        (page,) = tile_pages(tmp_path / "s.pdf")
        printed = page.cells(make_palette(1).srgb, 5.0)
        printed = printed[:, ::-1] if mirrored else printed
        assert printed[foot] == 0
        assert (printed[6] == 0).sum() == 4
        assert (printed[:, 5 if mirrored else 2] == 0).sum() == 6
        text = text_of(tmp_path / "s.pdf")
        assert ("MIRRORED" in text) == mirrored
        first = "is pressed first: the front" if mirrored else "is pressed first: the back"
        assert first in " ".join(text.split())


def test_both_pages_of_a_seam_name_it_and_the_same_pegs(tmp_path: Path) -> None:
    """The words beside each tick, found by their place: seam number and peg, on both pages."""
    plate = make_plate(58, 87)
    cut = write(tmp_path / "s.pdf", plate)
    found: dict[int, list[list[int]]] = {}
    document = pypdfium2.PdfDocument(tmp_path / "s.pdf")
    for number, words in enumerate(page_words(tmp_path / "s.pdf")):
        if "this way up" not in words:
            continue
        page = read_tile_page(render(tmp_path / "s.pdf", number, 300), words, 300)
        tile = next(tile for tile in cut.tiles if tile.name == page.tile)
        text, high = document[number].get_textpage(), document[number].get_height()
        for seam in cut.seams_of(tile):
            if seam.is_vertical:
                x = page.left / page.x_per_mm + (29 * 5 + 8 if seam.first == tile else -8)
                boxes = [(x, page.top / page.y_per_mm + (p + 0.5 - tile.y) * 5)
                         for p in seam_pegs(seam)]  # fmt: skip
            else:
                y = page.top / page.y_per_mm + (29 * 5 + 7 if seam.first == tile else -7)
                boxes = [(page.left / page.x_per_mm + (p + 0.5 - tile.x) * 5, y)
                         for p in seam_pegs(seam)]  # fmt: skip
            read = []
            for x, y in boxes:
                box = [(x - 3.5) * 72 / 25.4, high - (y + 3) * 72 / 25.4,
                       (x + 3.5) * 72 / 25.4, high - (y - 3) * 72 / 25.4]  # fmt: skip
                read.append(sorted(int(n) for n in re.findall(r"\d+", text.get_text_bounded(*box))))
            found.setdefault(seam.number, []).append(read)
    document.close()
    for seam in cut.seams:
        wanted = [sorted({seam.number, peg + 1}) for peg in seam_pegs(seam)]
        for read in found[seam.number]:
            assert [sorted(set(numbers)) for numbers in read] == wanted
        assert len(found[seam.number]) == 2


def test_pages_of_one_tile_are_joined_by_marks_of_one_name(tmp_path: Path) -> None:
    plate = make_plate(58, 58)
    write(tmp_path / "s.pdf", plate, board=(58, 58))
    pages = tile_pages(tmp_path / "s.pdf")
    assert len(pages) == 4
    for edge in ("top", "bottom"):
        one, two = (page.marks(edge, 5.0) for page in pages[:2])
        np.testing.assert_allclose(one, two, atol=0.05)
        assert one == pytest.approx([145.0], abs=0.05)
    for edge in ("left", "right"):
        one, two = (page.marks(edge, 5.0) for page in (pages[0], pages[2]))
        np.testing.assert_allclose(one, two, atol=0.05)
    assert all(
        name in pages[0].words for name in ("1+2", "1+3", "page 1 of 4", "continues: page 2")
    )


def test_rounds_runs_and_bags_are_told(tmp_path: Path) -> None:
    plate = make_plate(40, 30, colours=3)
    write(tmp_path / "s.pdf", plate, board=(20, 30), owned=1, runs=True)
    text = " ".join(text_of(tmp_path / "s.pdf").split())
    assert "2 rounds on 1 board " in text
    assert "leave a flap at seam 1 (A1-B1)" in text
    assert "close with the flaps: seam 1 (A1-B1)" in text
    assert runs_text(plate.cells[3, :20], plate.palette) in text
    assert "bags of 1000 beads for 7.20" in text
    changes = colour_changes(plate.cells)
    assert text.count(f"hours (a guess), {changes:,} colour changes") == 2  # cover, count sheet


def test_tiles_without_beads_have_no_page(tmp_path: Path) -> None:
    plate = make_plate(40, 10)
    plate.cells[:, 10:20] = -1
    write(tmp_path / "s.pdf", plate, board=(10, 10))
    assert [page.tile for page in tile_pages(tmp_path / "s.pdf")] == ["A1", "C1", "D1"]


def test_the_dialog_is_asked_not_to_scale_and_fonts_are_inside(tmp_path: Path) -> None:
    write(tmp_path / "s.pdf", make_plate(20, 20))
    data = (tmp_path / "s.pdf").read_bytes()
    assert b"/PrintScaling /None" in data
    assert data.count(b"/FontFile2") >= 2
    text = " ".join(text_of(tmp_path / "s.pdf").split())
    for words in ("random", "this way up", "100 mm", "page 1 of 2", "children under 3",
                  "Follow local rules"):  # fmt: skip
        assert words in text, words


def test_the_file_claims_no_author(tmp_path: Path) -> None:
    write(tmp_path / "s.pdf", make_plate(4, 4))
    said = pypdfium2.PdfDocument(tmp_path / "s.pdf").get_metadata_dict()
    assert said["Author"] == said["Subject"] == said["Keywords"] == ""
    assert said["Creator"] == "img2plate"
    assert said["Title"] == make_plate(4, 4).name


def test_same_plate_same_bytes(tmp_path: Path) -> None:
    write(tmp_path / "a.pdf", make_plate(40, 30))
    write(tmp_path / "b.pdf", make_plate(40, 30))
    assert (tmp_path / "a.pdf").read_bytes() == (tmp_path / "b.pdf").read_bytes()


@given(st.integers(1, 200), st.integers(1, 200), st.floats(2.0, 9.0))
def test_parts_cover_a_tile_and_overlap(width: int, height: int, pitch: float) -> None:
    tile = Tile(0, 0, 7, 3, width, height)
    page = turn([(width, height)], pitch, Printing(PAPERS["A4"]))
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
    with pytest.raises(OptionError, match=r"`pitch_mm`.*`paper`"):
        write(tmp_path / "s.pdf", plate)


def test_two_hundred_colours_have_a_legend_on_further_pages(tmp_path: Path) -> None:
    palette = make_palette(200)
    plate = Plate(np.arange(200, dtype=np.int16).reshape(10, 20), palette)
    write(tmp_path / "s.pdf", plate)
    text = text_of(tmp_path / "s.pdf")
    assert all(f"(c{i})" in text for i in range(200))


def pages_of(path: Path, plate: Plate, **how) -> tuple[list[str], int]:
    """Words of all pages, and how many show cells."""
    write(path, plate, **how)
    words = [" ".join(page.split()) for page in page_words(path)]
    return words, sum("this way up" in page and "100 mm" in page for page in words)


def test_what_has_room_elsewhere_gets_no_page(tmp_path: Path) -> None:
    heart, _ = pages_of(tmp_path / "s.pdf", make_plate(8, 7, colours=1))
    assert len(heart) == 2
    assert all(words in heart[0] for words in ("with spare", "total", "g/cm3", "8 x 7 pegs"))
    nine, true = pages_of(tmp_path / "s.pdf", make_plate(42, 42), board=(14, 14))
    assert (len(nine), true) == (5, 3)
    assert "Board map" in nine[0]
    assert "Count sheet" in nine[3]  # below the last tile
    many, true = pages_of(tmp_path / "s.pdf", make_plate(29, 29, colours=30))
    assert (len(many), true) == (4, 1)
    assert not any("map" in page for page in many)


def test_every_page_names_the_plate_and_how_it_was_made(tmp_path: Path) -> None:
    plate = make_plate(40, 30)
    plate = Plate(plate.cells, plate.palette, "harbour nets", {"source": "nets.png", "seed": 3})
    words, _ = pages_of(tmp_path / "s.pdf", plate, runs=True, owned=1, board=(20, 30))
    for number, page in enumerate(words, 1):
        assert f"page {number} of {len(words)} harbour nets palette" in page
        assert "from nets.png, seed 3, img2plate" in page


def test_rows_to_read_out_leave_no_last_row_alone(tmp_path: Path) -> None:
    """At each height of a tile: rows of about 1.6 lines that would run over by little."""
    for height in (26, 29, 32, 36):
        plate = make_plate(9, height, colours=4)
        words, _ = pages_of(tmp_path / "s.pdf", plate, board=(40, 40), runs=True)
        runs = [page for page in words if "Rows to read out" in page]
        assert len(runs) == 1, height
        for row in range(height):
            assert f"{row + 1} {runs_text(plate.cells[row], plate.palette)}" in runs[0]


def is_ink(page: TilePage, x_mm: float, y_mm: float) -> bool:
    """Whether there is ink within half a mm of a place, mm from the first cell."""
    x, y = page.left + x_mm * page.x_per_mm, page.top + y_mm * page.y_per_mm
    off = page.x_per_mm / 2
    around = page.picture[round(y - off) : round(y + off), round(x - off) : round(x + off)]
    return bool((around < 90).all(axis=2).any())


def test_angles_stand_at_the_boards_corners(tmp_path: Path) -> None:
    """10 x 8 pegs on a board of 29 x 29: outside all its corners, and not at those of the tile."""
    write(tmp_path / "s.pdf", make_plate(10, 8, colours=3))
    (page,) = tile_pages(tmp_path / "s.pdf")
    for x, out in ((0, -3), (145, 3)):
        for y in (0, 145):
            assert is_ink(page, x + out, y), (x, y)
    assert not is_ink(page, 53, 40)
    assert is_ink(page, 72.5, -8)  # the triangles: middles of the board's edges
    assert is_ink(page, 145 + 8, 72.5)
    assert "corners of the board, 29 x 29 pegs" in page.words


def test_where_the_board_does_not_fit_the_words_say_what_angles_mark(tmp_path: Path) -> None:
    write(tmp_path / "s.pdf", make_plate(10, 8, colours=3), board=(58, 58))
    (page,) = tile_pages(tmp_path / "s.pdf")
    assert is_ink(page, -3, 0)
    assert not is_ink(page, 53, 40)
    assert not is_ink(page, 53, 0)
    assert "the angle is the board's upper left corner" in " ".join(page.words.split())


@pytest.mark.parametrize("size", [(60, 60), (31, 33), (87, 32), (116, 87)])
@pytest.mark.parametrize("board", [(29, 29), (14, 14)])
def test_no_name_on_the_map_is_hidden_by_a_seams_number(tmp_path: Path, size, board) -> None:
    """Also on boards of which two columns are used."""
    cut = split(make_plate(*size), board)
    sheet = Sheet(tmp_path / "m.pdf", "map")
    sheet.start(210, 297)
    section = map_in((16.0, 46.0, 178.0, 230.0), cut, mirrored=False)
    if section is None:
        return  # is cut over several pages
    names = name_boards(sheet, section, list(cut.tiles), frozenset(), {})
    discs = number_seams(sheet, section, cut, names, frozenset())
    assert len(discs) == len(cut.seams)
    for left, top, wide, high in discs:
        for x, y, long, tall in names:
            off = max(x - left - wide / 2, left + wide / 2 - x - long, 0)
            down = max(y - top - high / 2, top + high / 2 - y - tall, 0)
            assert np.hypot(off, down) >= wide / 2
