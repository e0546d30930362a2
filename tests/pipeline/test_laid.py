"""A plate document repeats its run: `sheets` lays it out as it was, and says what is otherwise."""

from __future__ import annotations

import json
from dataclasses import fields, replace
from decimal import Decimal
from pathlib import Path

import pytest
from command import good, one_line, run
from support import make_plate

from img2plate.base.credit import Credit
from img2plate.base.errors import DocumentError
from img2plate.base.lengths import Board, find_paper, parse_boards
from img2plate.pipeline.laid import KEPT, NOT_KEPT, as_laid, laid_as
from img2plate.pipeline.options import PackOptions
from img2plate.plate.document import read_plate, write_plate
from img2plate.tally.bags import Bag, Bags

OTHER = PackOptions(
    board=Board(14, 7),
    paper=find_paper("Letter"),
    thickness_mm=3.0,
    spare_percent=12.5,
    pace=500.0,
    seams="14/7",
    smallest_tile=6,
    boards_owned=2,
    rounds=(("A1", "A2"), ("B1", "B2")),
    front="board-side",
    runs=True,
    template=True,
    bags=Bags(Bag(1000, 0.0, Decimal("2.40")), {"nav": Bag(0, 60.0)}),
)


def test_every_option_of_a_pack_is_kept_or_said_not_to_be() -> None:
    assert KEPT.keys() | NOT_KEPT == {field.name for field in fields(PackOptions)}
    assert not KEPT.keys() & NOT_KEPT


def test_all_that_is_kept_comes_back(tmp_path: Path) -> None:
    assert all(getattr(OTHER, name) != getattr(PackOptions(), name) for name in KEPT)
    write_plate(tmp_path / "p.png", replace(make_plate(28, 14), laid=laid_as(OTHER)))
    assert as_laid(read_plate(tmp_path / "p.png"), PackOptions()) == (OTHER, ())


def test_boards_of_several_sizes_are_kept() -> None:
    options = replace(PackOptions(), board=parse_boards("29x29*4,14x14*2"))
    plate = replace(make_plate(28, 14), laid=laid_as(options))
    assert as_laid(plate, PackOptions()) == (options, ())


def test_what_is_given_goes_first_and_is_said() -> None:
    plate = replace(make_plate(28, 14), laid=laid_as(OTHER), credit=Credit(licence="MIT"))
    wish = replace(PackOptions(), board=Board(29, 29), credit=Credit("T", "", "CC0-1.0"))
    now, notes = as_laid(plate, wish, {"board", "front", "paper"})
    assert (now.board, now.front, now.paper) == ((29, 29), "iron-side", find_paper("A4"))
    assert now.spare_percent == 12.5
    assert (now.seams, now.rounds) == ("full", None)  # they were for other boards
    told = "\n".join(notes)
    assert "`front` iron-side, in place of board-side as the plate was laid out" in told
    assert "`board` 29x29, in place of 14x7" in told
    assert "`licence` CC0-1.0, in place of MIT" in told
    assert "seams after 14/7" in told
    assert "see `rounds`" in told
    assert "pace" not in told


def test_a_plate_that_was_never_laid_out_takes_the_options(tmp_path: Path) -> None:
    write_plate(tmp_path / "p.png", make_plate(28, 14))
    assert as_laid(read_plate(tmp_path / "p.png"), OTHER) == (OTHER, ())


@pytest.mark.parametrize(
    ("name", "value"),
    [("board", "0x3"), ("board", 7), ("paper", []), ("front", []), ("seams", {}), ("pace", True),
     ("bags", {"usual": [0, 0, None], "own": {}}), ("bags", 3), ("rounds", "?"), ("runs", "yes"),
     ("boards_owned", 0), ("thickness_mm", "nan"), ("spare_percent", 1e400)],
)  # fmt: skip
def test_what_makes_no_sense_is_told(name: str, value: object) -> None:
    laid = json.loads(json.dumps({name: value}))
    with pytest.raises(DocumentError, match=name):
        as_laid(replace(make_plate(9, 9), laid={**laid, "newer": 1}), PackOptions())


def test_sheets_repeat_the_run_by_the_byte(tmp_path: Path) -> None:
    from img2plate.plate.plate import Plate

    plate: Plate = make_plate(20, 9, colours=4)
    write_plate(tmp_path / "gull.png", plate)
    words = ["--board", "14x14", "--front", "board-side", "--spare", "7", "--title", "The gull",
             "--author", "Maja", "--licence", "cc-by-4.0", "--name", "gull"]  # fmt: skip
    first, second = tmp_path / "first", tmp_path / "second"
    good("sheets", tmp_path / "gull.png", *words, "--out", first)
    again = good("sheets", first / "gull" / "plate.png", "--out", second)
    assert "in place of" not in again.stderr
    for path in (first / "gull").iterdir():
        assert path.read_bytes() == (second / "gull" / path.name).read_bytes(), path.name
    assert read_plate(first / "gull" / "plate.png").credit == Credit(
        "The gull", "Maja", "CC-BY-4.0"
    )
    assert "are mirrored" in again.stderr
    said = good("sheets", first / "gull" / "plate.png", "--front", "iron-side", "--out", second)
    assert "--front iron-side, in place of board-side as the plate was laid out" in said.stderr


def test_an_unknown_licence_is_one_line(tmp_path: Path) -> None:
    write_plate(tmp_path / "gull.png", make_plate(9, 9))
    done = run("sheets", tmp_path / "gull.png", "--licence", "CC-BY-4", "--out", tmp_path)
    one_line(done, 2, "--licence", "did you mean", "CC-BY-4.0")
