"""Bags, price, sums over plates, run lengths, and the workbook read back by another library."""

from __future__ import annotations

import csv
import itertools
import re
import zipfile
from decimal import Decimal
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from support import make_palette, make_plate

from img2plate.base.errors import OptionError, OutputError
from img2plate.plate.plate import Plate
from img2plate.split.tiles import split
from img2plate.tally.bags import Bag, Bags, parse_bags
from img2plate.tally.counts import count, count_plates
from img2plate.tally.runs import row_runs, runs_text
from img2plate.tally.table import write_as_named, write_counts, write_workbook


def test_bags_hold_what_is_needed_and_no_more() -> None:
    plate = make_plate(40, 40, colours=4)
    counts = count(plate, split(plate, (29, 29)), spare_percent=5, sold=parse_bags("100", "2.40"))
    for line in counts.colours:
        assert (line.bags - 1) * 100 < line.with_spares <= line.bags * 100
        assert line.price == Decimal("2.40") * line.bags
    assert counts.bags == sum(line.bags for line in counts.colours)
    assert counts.price == sum(line.price for line in counts.colours if line.price is not None)


@given(st.integers(1, 10_000), st.floats(0.5, 1000))
def test_bags_by_weight(beads: int, held: float) -> None:
    grams = beads * 0.0658
    bags = Bag(grams=held).needed(beads, grams)
    assert (bags - 1) * held <= grams * (1 + 1e-5) + 1e-3
    assert bags * held >= grams * (1 - 1e-5) - 1e-3


@pytest.mark.parametrize(
    ("size", "price"),
    [("0", ""), ("-3", ""), ("many", ""), ("1.5", ""), ("0g", ""), ("100", "free"), ("100", "-1"),
     ("100", "NaN"), ("", "2.40")],
)  # fmt: skip
def test_bags_that_make_no_sense(size: str, price: str) -> None:
    with pytest.raises(OptionError, match="`bag"):
        parse_bags(size, price)


def bags_file(path: Path, text: str) -> str:
    path.write_text(text, encoding="utf-8")
    return str(path)


def test_each_colour_in_a_bag_of_its_own(tmp_path: Path) -> None:
    file = bags_file(
        tmp_path / "bags.csv", "# invented\ncode,bag,price\nc0,100,2.40\nc1,6.58g,\n*,50,1\n"
    )
    plate = make_plate(40, 40, colours=4)
    counts = count(plate, split(plate, (29, 29)), spare_percent=5, sold=parse_bags(file, ""))
    held = {"c0": 100, "c1": 100, "c2": 50, "c3": 50}  # 6.58 g are 100 beads of 0.0658 g
    for line in counts.colours:
        size = held[line.bead.code]
        assert (line.bags - 1) * size <= line.with_spares <= line.bags * size
        each = {"c0": Decimal("2.40"), "c1": None}.get(line.bead.code, Decimal(1))
        assert line.price == (None if each is None else each * line.bags)
    assert counts.price == sum(line.price for line in counts.colours if line.price is not None)
    assert counts.unpriced == 1
    write_counts(tmp_path / "c.csv", counts)
    rows = list(csv.DictReader((tmp_path / "c.csv").read_text().splitlines()))
    assert [row["price"] for row in rows if row["code"] == "c1"] == [""]
    write_workbook(tmp_path / "c.xlsx", counts)
    head, *lines, _ = workbook_values(tmp_path / "c.xlsx")
    assert head[7:9] == ["bags", "price"]
    assert [float(row[7]) for row in lines] == [line.bags for line in counts.colours]


@pytest.mark.parametrize(
    ("text", "word"),
    [("code,price\nc0,1\n", "no column 'bag'"), ("code,bag\nc0,0\n", "row 2, column bag"),
     ("code,bag\nc0,10\nc0,20\n", "on row 2 too"), ("code,bag,price\nc0,10,dear\n", "price"),
     ("code,bag\n,10\n", "row 2, column code"), ("", "nothing in it")],
)  # fmt: skip
def test_a_wrong_file_of_bags_names_its_row(tmp_path: Path, text: str, word: str) -> None:
    with pytest.raises(OptionError, match=word):
        parse_bags(bags_file(tmp_path / "bags.csv", text), "")


def test_bags_in_words_and_what_they_hold() -> None:
    beads, grams = Bag(beads=1000), Bag(grams=60)
    assert (beads.words, grams.words, Bag(grams=2.5).words) == ("1000 beads", "60 g", "2.5 g")
    assert (beads.holds(0.06), grams.holds(0.06), Bag(grams=0.01).holds(0.06)) == (1000, 1000, 1)
    assert [beads.needed(n, 0.0) for n in (0, 1, 1000, 1001)] == [0, 1, 1, 2]
    assert [grams.needed(1, g) for g in (0.0, 59.9, 60.0, 60.1)] == [0, 1, 1, 2]
    assert Bags(beads).words == "bags of 1000 beads"
    assert Bags(beads, {"a": grams}).words == Bags(None).words == "bags"
    assert not Bags(beads).priced
    assert not Bags(None).priced
    assert Bags(Bag(beads=5, price=Decimal(0))).priced
    assert Bags(None, {"a": Bag(beads=5, price=Decimal(2))}).priced


def test_spare_beads_are_part_of_what_is_bought() -> None:
    plate = Plate(np.zeros((10, 10), np.int16), make_palette(1))
    for spare, bags in ((0, 1), (1, 2)):
        counts = count(plate, split(plate, (29, 29)), spare_percent=spare, sold=Bags(Bag(100)))
        assert counts.bags == bags


def test_formulas_of_the_workbook(tmp_path: Path) -> None:
    """What a reader gets who changes the beads: spares rounded up, weight, bags, price, sums."""
    plate = Plate(np.array([[0, 0, 0], [1, 1, 2]], np.int16), make_palette(3))
    own = {"c0": Bag(beads=2, price=Decimal("2.40")), "c1": Bag(grams=1.5, price=Decimal(3))}
    counts = count(plate, split(plate, (2, 9)), spare_percent=5, sold=Bags(None, own))
    write_workbook(tmp_path / "c.xlsx", counts)
    rows = workbook_formulas(tmp_path / "c.xlsx")
    weight = plate.palette.bead_size.grams
    assert rows[1] == {
        "F2": "E2+ROUNDUP(ROUND(E2*5/100,6),0)", "G2": f"ROUND(F2*{weight:.6f},2)",
        "H2": "ROUNDUP(ROUND(F2/2,6),0)", "I2": "H2*2.40",
    }  # fmt: skip
    assert rows[2]["H3"] == "ROUNDUP(ROUND(G3/1.5,6),0)"
    assert rows[2]["I3"] == "H3*3"
    assert set(rows[3]) == {"F4", "G4"}
    assert rows[4] == {f"{c}5": f"SUM({c}2:{c}4)" for c in "EFGHIJK"}


def test_what_is_not_sold_takes_no_bags_and_what_is_given_away_costs_nothing(
    tmp_path: Path,
) -> None:
    plate = Plate(np.zeros((2, 3), np.int16), make_palette(1))
    (line,) = count(plate, split(plate, (29, 29))).colours
    assert (line.bags, line.price) == (0, None)
    free = Bags(Bag(beads=10, price=Decimal(0)))
    write_workbook(tmp_path / "c.xlsx", count(plate, split(plate, (29, 29)), sold=free))
    assert float(workbook_values(tmp_path / "c.xlsx")[1][8]) == 0


def workbook_formulas(path: Path) -> list[dict[str, str]]:
    """Formulas of each row by cell (ECMA-376)."""
    with zipfile.ZipFile(path) as archive:
        sheet = ElementTree.fromstring(archive.read("xl/worksheets/sheet1.xml"))
    return [
        {cell.get("r", ""): formula.text or "" for cell in row
         if (formula := cell.find(f"{MAIN}f")) is not None}
        for row in sheet.iter(f"{MAIN}row")
    ]  # fmt: skip


def test_bead_names_stand_in_a_wide_column_and_the_head_stays_in_view(tmp_path: Path) -> None:
    plate = make_plate(5, 5, colours=2)
    write_workbook(tmp_path / "c.xlsx", count(plate, split(plate, (29, 29))))
    with zipfile.ZipFile(tmp_path / "c.xlsx") as archive:
        sheet = ElementTree.fromstring(archive.read("xl/worksheets/sheet1.xml"))
    wide = {
        (c.get("min"), c.get("max")): float(c.get("width", "0")) for c in sheet.iter(f"{MAIN}col")
    }
    assert wide[("4", "4")] > 2 * wide[("2", "2")] > 0
    (pane,) = sheet.iter(f"{MAIN}pane")
    assert (pane.get("xSplit"), pane.get("ySplit")) == ("4", "1")


def test_columns_of_the_table(tmp_path: Path) -> None:
    """With and without symbols, bags and prices; the total stands under what it sums."""
    plate = Plate(np.array([[0, 0, 1]], np.int16), make_palette(2))
    cut = split(plate, (29, 29))
    head = "code,name,hex,finish,beads,with_spares,grams"
    for sold, symbols, more, last in (
        (None, None, ",A1", ",3"),
        (Bags(Bag(2)), None, ",bags,A1", ",2,3"),
        (Bags(Bag(2, price=Decimal(1))), {0: "K", 1: "M"}, ",bags,price,symbol,A1", ",2,2.00,,3"),
    ):
        write_counts(tmp_path / "c.csv", count(plate, cut, sold=sold), symbols)
        lines = (tmp_path / "c.csv").read_text().splitlines()
        assert lines[0] == head + more
        assert lines[-1] == f"total,,,,3,3,{3 * plate.palette.bead_size.grams:.2f}{last}"
        assert lines[1].split(",")[:6] == ["c0", "colour 0", plate.palette.beads[0].hex, "solid",
                                           "2", "2"]  # fmt: skip
        if symbols:
            assert [line.split(",")[9] for line in lines[1:3]] == ["K", "M"]


def test_prices_are_said_once(tmp_path: Path) -> None:
    file = bags_file(tmp_path / "bags.csv", "code,bag,price\n*,50,1\n")
    with pytest.raises(OptionError, match="`bag_price`"):
        parse_bags(file, "2")


def test_no_bag_no_columns(tmp_path: Path) -> None:
    assert parse_bags("", "") is None
    plate = make_plate(9, 9, colours=3)
    counts = count(plate, split(plate, (29, 29)))
    write_counts(tmp_path / "c.csv", counts)
    assert "bags" not in (tmp_path / "c.csv").read_text()
    assert counts.price is None


def test_plates_add_up_by_colour_and_code() -> None:
    """Two plates of one palette and one of another whose codes are the same by chance."""
    one, two = make_plate(20, 10, colours=6, seed=1), make_plate(12, 15, colours=6, seed=1)
    other = make_plate(8, 8, colours=6, seed=2)
    counts = count_plates([one, two, other], ["a", "b", "c"], spare_percent=10)
    assert counts.beads == one.bead_count + two.bead_count + other.bead_count
    by_colour = {(line.bead.code, line.bead.hex): line.per_tile for line in counts.colours}
    for plate, place in ((one, 0), (two, 1), (other, 2)):
        for bead, amount in zip(plate.palette.beads, plate.counts(), strict=True):
            assert by_colour[(bead.code, bead.hex)][place] == amount
    assert len(counts.colours) == 12
    grams = sum(p.bead_count * p.palette.bead_size.grams for p in (one, two, other))
    assert counts.grams == pytest.approx(grams * 1.1, rel=0.02)


@given(st.lists(st.integers(-1, 3), max_size=40))
def test_runs_give_the_row_back(row: list[int]) -> None:
    runs = row_runs(np.array(row, np.int16))
    again = [index for length, index in runs for _ in range(length)]
    assert again + [-1] * (len(row) - len(again)) == row
    assert all(a[1] != b[1] for a, b in itertools.pairwise(runs))


def test_runs_in_words() -> None:
    palette = make_palette(3)
    row = np.array([-1, 0, 0, 2, 2, 2, -1, 0, -1, -1], np.int16)
    words = "1 empty, 2 colour 0, 3 colour 2, 1 empty, 1 colour 0"
    assert runs_text(row, palette) == words
    assert runs_text(np.full(4, -1, np.int16), palette) == "no beads"


MAIN = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"


def workbook_values(path: Path) -> list[list[str]]:
    """Cells of the one worksheet, by the standard library (ECMA-376: shared strings, values)."""
    with zipfile.ZipFile(path) as archive:
        shared = [
            "".join(t.text or "" for t in item.iter(f"{MAIN}t"))
            for item in ElementTree.fromstring(archive.read("xl/sharedStrings.xml"))
        ]
        sheet = ElementTree.fromstring(archive.read("xl/worksheets/sheet1.xml"))
    rows = []
    for row in sheet.iter(f"{MAIN}row"):
        values = []
        for cell in row:
            value = cell.find(f"{MAIN}v")
            text = "" if value is None else value.text or ""
            values.append(shared[int(text)] if cell.get("t") == "s" else text)
        rows.append(values)
    return rows


def test_the_workbook_says_what_the_counts_say(tmp_path: Path) -> None:
    plate = make_plate(40, 30, colours=5)
    bag = parse_bags("100", "2.40")
    counts = count(plate, split(plate, (29, 29)), spare_percent=5, sold=bag)
    write_workbook(tmp_path / "c.xlsx", counts, {i: "ABCDE"[i] for i in range(5)})
    head, *lines, total = workbook_values(tmp_path / "c.xlsx")
    assert head[-4:] == ["A1", "B1", "A2", "B2"]
    assert len(lines) == 5
    for row, line in zip(lines, counts.colours, strict=True):
        assert row[2:4] == [line.bead.code, line.bead.name]
        numbers = [float(value) for value in row[4:]]
        assert numbers[:2] == [line.beads, line.with_spares]
        assert numbers[2] == pytest.approx(line.grams, abs=0.006)
        assert numbers[3:5] == [line.bags, float(line.price or 0)]
        assert tuple(numbers[5:]) == line.per_tile
    assert total[0] == "total"
    each_tile = [sum(column) for column in zip(*(c.per_tile for c in counts.colours), strict=True)]
    sums = [counts.beads, counts.with_spares, round(counts.grams, 2), counts.bags]
    assert [float(v) for v in total[1:]] == [*sums, float(counts.price or 0), *each_tile]
    with zipfile.ZipFile(tmp_path / "c.xlsx") as archive:
        sheet = ElementTree.fromstring(archive.read("xl/worksheets/sheet1.xml"))
    last = list(sheet.iter(f"{MAIN}row"))[-1]
    assert [cell.get("r") for cell in last][:2] == ["D7", "E7"]  # below the names and the beads
    write_workbook(tmp_path / "d.xlsx", counts, {i: "ABCDE"[i] for i in range(5)})
    assert (tmp_path / "c.xlsx").read_bytes() == (tmp_path / "d.xlsx").read_bytes()


def test_the_workbook_names_no_product_as_its_maker(tmp_path: Path) -> None:
    plate = make_plate(5, 5, colours=2)
    write_workbook(tmp_path / "c.xlsx", count(plate, split(plate, (29, 29))))
    with zipfile.ZipFile(tmp_path / "c.xlsx") as parts:
        app = parts.read("docProps/app.xml").decode()
        assert re.findall(r"<Application>([^<]*)<", app) == ["img2plate"]
        assert "<fileVersion" not in parts.read("xl/workbook.xml").decode()
        dates = {part.date_time for part in parts.infolist()}
        assert dates == {(1980, 1, 1, 0, 0, 0)}
        for part in parts.namelist():
            ElementTree.fromstring(parts.read(part))
            assert b"Excel" not in parts.read(part), part


def test_a_file_is_written_as_it_is_named(tmp_path: Path) -> None:
    plate = Plate(np.zeros((3, 3), np.int16), make_palette(1))
    counts = count_plates([plate], ["a"])
    write_as_named(tmp_path / "n" / "c.csv", counts)
    assert (tmp_path / "n" / "c.csv").read_text().splitlines()[1].startswith("c0,")
    with pytest.raises(OptionError, match="neither"):
        write_as_named(tmp_path / "c.doc", counts)
    with pytest.raises(OutputError):
        write_as_named(Path("/proc/none/c.csv"), counts)
