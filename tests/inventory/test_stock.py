"""The stock file: what is refused, and that taking beads loses nothing."""

from __future__ import annotations

from math import ceil
from pathlib import Path

import pytest
from support import make_palette

from img2plate.base.errors import StockError
from img2plate.inventory.stock import read_stock, write_stock


def stock_file(folder: Path, text: str) -> Path:
    (folder / "beads.csv").write_text(text, encoding="utf-8")
    return folder / "beads.csv"


@pytest.mark.parametrize(
    ("text", "word"),
    [
        ("", "nothing in it"),
        ("code,amount\nc0,4\n", "row 1: no column 'count'"),
        ("# mine\ncode,count\nc0,4\nc1,\n", "row 4, column count: empty"),
        ("code,count\nc0,4\n,3\n", "row 3, column code: empty"),
        ("code,count\nc0,-4\n", "row 2, column count: -4 is below 0"),
        ("code,count\nc0,many\n", "row 2, column count: 'many'"),
        ("code,count\nc0,1.5\n", "row 2, column count: '1.5'"),
        ("code,count\nc0,4\nc1,2\nc0,3\n", "row 4, column code: 'c0' is on row 2 too"),
    ],
)
def test_a_wrong_file_names_its_row(tmp_path: Path, text: str, word: str) -> None:
    with pytest.raises(StockError, match=word):
        read_stock(stock_file(tmp_path, text))


def test_a_code_that_the_palette_does_not_have(tmp_path: Path) -> None:
    stock = read_stock(stock_file(tmp_path, "code,count\nc1,7\nnix,3\n"))
    with pytest.raises(StockError, match=r"row 3, column code.*'nix'"):
        stock.limits(make_palette(3))
    assert stock.limits(make_palette(3), strict=False).tolist() == [0, 7, 0]


def test_taking_beads_keeps_everything_else(tmp_path: Path) -> None:
    path = stock_file(tmp_path, "# my shelf\ncode;where;count\nc0;tin 1;40\n\nc1;tin 2;5\n")
    write_stock(read_stock(path).without({"c0": 12}))
    assert path.read_text("utf-8") == "# my shelf\ncode;where;count\nc0;tin 1;28\n\nc1;tin 2;5\n"
    assert [p.name for p in tmp_path.iterdir()] == ["beads.csv"]


def test_no_count_goes_below_zero(tmp_path: Path) -> None:
    stock = read_stock(stock_file(tmp_path, "code,count\nc0,4\n"))
    with pytest.raises(StockError, match="1 beads of c0 are missing"):
        stock.without({"c0": 5})
    with pytest.raises(StockError, match="2 beads of c1 are missing"):
        stock.without({"c1": 2})


def test_files_that_are_none(tmp_path: Path) -> None:
    with pytest.raises(StockError, match="cannot read"):
        read_stock(tmp_path / "none.csv")
    (tmp_path / "b.csv").write_bytes(b"\xff\xfe\x00")
    with pytest.raises(StockError, match="not a text file"):
        read_stock(tmp_path / "b.csv")


@pytest.mark.parametrize("spare", [0.0, 1.0, 5.0, 10.0, 33.3, 100.0])
def test_what_is_kept_back_is_exactly_the_spares(spare: float, tmp_path: Path) -> None:
    """As counted: beads and their spare percentage, rounded up."""
    rows = [f"c{n},{n}" for n in range(0, 130)]
    stock = read_stock(stock_file(tmp_path, "\n".join(["code,count", *rows])))
    for code, most in stock.keeping_back(spare).counts.items():
        owned = stock.counts[code]
        with_spares = [n + ceil(round(n * spare / 100, 6)) for n in (most, most + 1)]
        assert with_spares[0] <= owned < with_spares[1]


@pytest.mark.parametrize(
    ("data", "word"),
    [
        ("code,count\nc0,4\n".encode("utf-16"), "saved as UTF-16"),
        ("code,count,name\nc0,4,möwe\n".encode("cp1252"), "row 2: not UTF-8, perhaps saved as Win"),
        (b"\x89PNG\0\xff", "not a text file"),
    ],
)
def test_other_encodings_are_refused_by_their_name(data: bytes, word: str, tmp_path: Path) -> None:
    (tmp_path / "beads.csv").write_bytes(data)
    with pytest.raises(StockError, match=word):
        read_stock(tmp_path / "beads.csv")
