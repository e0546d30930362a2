"""Plates against the stock: what is missing, and taking finished ones out of the file."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from support import make_palette, make_plate

from img2plate.base.errors import StockError
from img2plate.colour.palette_file import write_palette
from img2plate.pipeline.stock import shortfall, shortfall_json, show, take
from img2plate.plate.document import write_plate
from img2plate.tally.bags import Bag, Bags
from img2plate.tally.counts import count_plates


def files(folder: Path, extra: int) -> tuple[Path, Path, dict[str, int]]:
    """A plate document, a stock file with so many beads more than two such plates take."""
    plate = make_plate(9, 7, 5)
    write_plate(folder / "plate.png", plate)
    counts = {b.code: n for b, n in zip(plate.palette.beads, plate.counts().tolist(), strict=True)}
    rows = "".join(f"{code},{2 * n + extra}\n" for code, n in counts.items())
    (folder / "stock.csv").write_text(f"code,count\n{rows}")
    return folder / "plate.png", folder / "stock.csv", counts


def test_taking_plates_twice_leaves_what_is_over(tmp_path: Path) -> None:
    plate, stock, counts = files(tmp_path, 3)
    left, taken = take(stock, [plate, plate])
    assert taken == 2 * sum(counts.values())
    assert set(left.counts.values()) == {3}
    assert stock.read_text() == "code,count\n" + "".join(f"{code},3\n" for code in counts)


def test_too_few_beads_leave_the_file_as_it_was(tmp_path: Path) -> None:
    plate, stock, _ = files(tmp_path, 0)
    before = stock.read_bytes()
    with pytest.raises(StockError, match="nothing was taken"):
        take(stock, [plate, plate, plate])
    assert stock.read_bytes() == before
    assert sorted(p.name for p in tmp_path.iterdir()) == ["plate.png", "stock.csv"]


def test_what_is_missing_is_rounded_up_to_bags(tmp_path: Path) -> None:
    from img2plate.inventory.stock import read_stock

    _, stock, counts = files(tmp_path, 0)
    plate = make_plate(9, 7, 5)
    sold = Bags(Bag(beads=10, price=Decimal("2.40")))
    three = count_plates([plate] * 3, ["a", "b", "c"], sold=sold)
    short = shortfall(three, read_stock(stock))
    assert {s.bead.code: s.missing for s in short} == counts
    assert [s.bags for s in short] == [-(-s.missing // 10) for s in short]
    report = shortfall_json(short)
    assert report["price"] == pytest.approx(2.4 * report["bags"])
    assert not shortfall(count_plates([plate] * 2, ["a", "b"]), read_stock(stock))


def test_what_is_left_is_drawn_in_its_colours(tmp_path: Path) -> None:
    palette = make_palette(4)
    write_palette(tmp_path / "p.csv", palette)
    (tmp_path / "s.csv").write_text("code,count\nc0,40\nc1,10\nc2,0\n")
    assert show(tmp_path / "s.csv", str(tmp_path / "p.csv"), tmp_path / "o.png") == 50
    with Image.open(tmp_path / "o.png") as image:
        pixels = np.asarray(image.convert("RGB"))
    drawn = [int((pixels == bead.srgb).all(axis=2).sum()) for bead in palette.beads]
    assert drawn[0] > 3.5 * drawn[1] > 0
    assert drawn[2] == drawn[3] == 0
