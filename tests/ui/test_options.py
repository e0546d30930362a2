"""Options and the dataclasses that they fill: the same defaults, and nothing that goes nowhere."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import fields, is_dataclass
from pathlib import Path
from typing import Any

import click
import pytest
from command import run

from img2plate.base.errors import OptionError
from img2plate.base.lengths import Board, find_paper
from img2plate.base.printer import Rulers
from img2plate.image.sizing import CropBox
from img2plate.image.source_options import SourceOptions
from img2plate.pipeline.compare import CompareOptions
from img2plate.pipeline.figure import FigureOptions
from img2plate.pipeline.fit import FitOptions
from img2plate.pipeline.layout import LayoutOptions
from img2plate.pipeline.letters import LettersOptions
from img2plate.pipeline.options import MakeOptions, PackOptions, SeveralOptions
from img2plate.pipeline.rebuild import RebuildOptions
from img2plate.pipeline.recolour import RecolourOptions
from img2plate.plate.finish.finish import FinishOptions
from img2plate.plate.scatter import ScatterOptions
from img2plate.ui.cli import cli
from img2plate.ui.cli.options.boards import with_bags
from img2plate.ui.cli.shared.command import spoken
from img2plate.ui.cli.shared.gather import gather

PACKAGE = Path(__file__).parents[2] / "img2plate"
FILLED: dict[str, tuple[type, ...]] = {
    "make": (MakeOptions,),
    "compare": (CompareOptions,),
    "sheets": (PackOptions,),
    "scatter": (ScatterOptions, PackOptions),
    "layout": (LayoutOptions, PackOptions),
    "letters": (LettersOptions, PackOptions),
    "finish": (FinishOptions, PackOptions),
    "recolour": (RecolourOptions, PackOptions),
    "rebuild": (RebuildOptions, PackOptions),
    "native": (SourceOptions, SeveralOptions),
    "figure": (FigureOptions,),
    "fit": (FitOptions,),
}
"""What the options of each command fill."""
OWN = {
    "as_json", "bag", "bag_price", "name", "palette", "out", "show", "coins", "help", "yes",
    "jobs", "go_on",
}  # fmt: skip
"""Options that a command sees to itself, or that `with_bags` puts together."""


def given(command: str, *words: str) -> dict[str, Any]:
    """The values of a command line."""
    found = cli.commands[command].make_context(command, ["x.png", *words])
    return with_bags({"bag": "", "bag_price": "", **found.params})


def filled(command: str, *words: str) -> list[Any]:
    """The options that a command line fills, as the command does it."""
    values = given(command, *words) if command != "fit" else dict(cli.commands["fit"].make_context(
        "fit", list(words)).params)  # fmt: skip
    if command == "compare":
        same = {name: value for name, value in values.items() if name != "colours"}
        return [gather(CompareOptions, values, make=gather(MakeOptions, same))]
    return [gather(kind, values) for kind in FILLED[command]]


@pytest.mark.parametrize("command", FILLED)
def test_without_options_a_command_has_the_defaults_of_its_dataclass(command: str) -> None:
    for options, kind in zip(filled(command), FILLED[command], strict=True):
        if command == "recolour" and kind is RecolourOptions:
            kind = lambda: RecolourOptions(targets=())  # noqa: E731
        assert options == kind()


def names_in(kind: type) -> Iterator[str]:
    """All fields of a dataclass, and of those inside it."""
    for field in fields(kind):
        inner = field.default_factory
        if isinstance(inner, type) and is_dataclass(inner):
            yield from names_in(inner)
        yield field.name


@pytest.mark.parametrize("command", FILLED)
def test_every_option_fills_a_field(command: str) -> None:
    known = OWN.union(*(names_in(kind) for kind in FILLED[command]))
    for parameter in cli.commands[command].params:
        if isinstance(parameter, click.Option) and not parameter.hidden:
            assert parameter.name in known, parameter.opts


def test_text_becomes_typed_values() -> None:
    words = ["--board", "14x7", "--paper", "letter", "--crop", "1,2,3,4", "--printer-measured",
             "99", "--size", "20x30", "--only", "a,b", "--only", "c", "--bag", "60g"]  # fmt: skip
    (make,) = filled("make", *words)
    assert make.pack.board == Board(14, 7)
    assert make.pack.paper == find_paper("Letter")
    assert make.pack.printer_measured == Rulers(99, 99)
    assert make.pack.bags.usual.grams == 60
    assert make.source.crop == CropBox(1, 2, 3, 4)
    assert make.size.size == (20, 30)
    assert make.choice.only == ("a", "b", "c")


def test_no_module_of_the_library_names_an_option_of_the_command_line() -> None:
    for path in PACKAGE.rglob("*.py"):
        if path.relative_to(PACKAGE).parts[0] != "ui":
            found = re.findall(r"(?<![\w-])--[a-z][a-z-]*", path.read_text(encoding="utf-8"))
            assert not found, f"{path}: {found}"


def test_an_error_reads_well_with_and_without_a_front_end() -> None:
    error = OptionError("is not from 0.5 to 50 mm", field="pitch_mm", value=60.0, remedy="mend it")
    assert str(error) == "`pitch_mm`: 60 is not from 0.5 to 50 mm; mend it"
    assert spoken(str(error), cli.commands["make"]) == (
        "--pitch: 60 is not from 0.5 to 50 mm; mend it"
    )
    assert spoken(str(error), cli.commands["count"]).startswith("pitch_mm: 60")  # not an option
    assert spoken("see `width`", cli.commands["make"]) == "see --width"


def test_notes_and_errors_name_options_on_the_command_line(tmp_path: Path) -> None:
    done = run("make", tmp_path / "none.png", "--stock-advice")
    assert "--stock-advice: needs the beads you own; also give --stock" in done.stderr
    assert done.returncode == 2
    twice = run("make", tmp_path / "none.png", "--width", "3", "--size", "3x3")
    assert "give only one of --width/--height, --size, --boards and --mm" in twice.stderr


@pytest.mark.parametrize(
    ("words", "meant"),
    [
        (("make", "x.png", "--palette", "harbor-48"), "did you mean harbour-48?"),
        (("make", "x.png", "--only", "hbx"), "did you mean hbr"),
        (("make", "x.png", "--shading", "serach"), "did you mean search"),
        (("make", "x.png", "--palete", "x"), "Did you mean"),
        (("fit", "--coin", "2 eurro"), "EU 2 euro"),
    ],
)
def test_near_misses_are_named(
    words: tuple[str, ...], meant: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from PIL import Image

    monkeypatch.chdir(tmp_path)
    Image.new("RGB", (3, 3)).save("x.png")
    done = run(*words)
    assert done.returncode
    assert meant in done.stderr


def test_a_wrong_file_of_bags_is_a_wrong_option(tmp_path: Path) -> None:
    (tmp_path / "bags.csv").write_text("code,bag\nhbr,none\n", encoding="utf-8")
    done = run("make", "x.png", "--bag", tmp_path / "bags.csv")
    assert done.returncode == 2
    assert "bags.csv, row 2, column bag: 'none' is not a number of beads" in done.stderr


def headings(command: str) -> dict[str, list[str]]:
    """The options under each heading of a command's help."""
    lines = run(command, "--help").stdout.splitlines()
    found: dict[str, list[str]] = {}
    for line in lines:
        if re.fullmatch(r"[A-Z][\w ,:]*:", line):
            under = found.setdefault(line.rstrip(":"), [])
        elif match := re.match(r"  (?:-\w, )?(--[\w-]+)", line):
            under.append(match[1])
    return found


def test_the_help_of_make_shows_ten_options_first_and_the_rest_under_headings() -> None:
    found = headings("make")
    assert list(found) == [
        "Used most", "Picture", "Size", "Colours", "Shading", "Finish", "Boards and paper",
        "Output", "Other options",
    ]  # fmt: skip
    assert len(found["Used most"]) == 10
    assert found["Other options"] == ["--help"]
    options = {max(p.opts, key=len) for p in cli.commands["make"].params if p.opts[0][0] == "-"}
    listed = [name for names in found.values() for name in names]
    assert sorted(listed) == sorted({*options, "--help"})


@pytest.mark.parametrize("words", [(), ("palette",), ("stock",)])
def test_a_group_alone_prints_its_help(words: tuple[str, ...]) -> None:
    done = run(*words)
    assert done.returncode == 2
    assert "Commands:\n" in done.stderr + done.stdout
