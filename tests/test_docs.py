"""The documents keep up with the code: options, exit codes, rooms, version, links, examples."""

from __future__ import annotations

import re
import shlex
import shutil
from pathlib import Path
from typing import Any

import click
import pytest
from click.testing import CliRunner
from PIL import Image
from support import commands

from img2plate import __version__
from img2plate.base.errors import ExitCode
from img2plate.base.files import PACK_FILES
from img2plate.colour.palette_file import find_palette
from img2plate.solid.box.build import build
from img2plate.solid.file.figure_file import read_figure
from img2plate.ui.cli import cli

ROOT = Path(__file__).parents[1]
TOUR = sorted((ROOT / "docs" / "tour").glob("*.md"))
READ = [ROOT / "README.md", *TOUR]
"""What people read who use img2plate."""
PAGES = [*READ, ROOT / "DEVELOPERS.md", ROOT / "CHANGELOG.md"]
TEXT = "\n".join(path.read_text(encoding="utf-8") for path in READ)


def page_id(path: Path) -> str:
    return path.relative_to(ROOT).as_posix()


COMMANDS = commands(cli)


def stands_in_the_text(option: str) -> bool:
    return re.search(rf"(?<![\w-]){re.escape(option)}(?![\w-])", TEXT) is not None


@pytest.mark.parametrize(("name", "command"), COMMANDS, ids=[name for name, _ in COMMANDS])
def test_every_option_is_explained_and_helps(name: str, command: click.Command) -> None:
    assert command.help, name
    assert f"img2plate {name}" in TEXT or isinstance(command, click.Group), name
    for parameter in command.params:
        if isinstance(parameter, click.Option) and not parameter.hidden:
            assert any(stands_in_the_text(option) for option in parameter.opts), parameter.opts
            assert parameter.help, parameter.opts


def test_no_option_is_explained_that_does_not_exist() -> None:
    known = {option for _, command in COMMANDS for p in command.params for option in p.opts}
    known |= {"--help", "--version"}
    text = re.sub(r"`(python|pip) [^`]*`", "", TEXT)  # they have options of their own
    told = set(re.findall(r"[\s`(](--[a-z][\w-]*)", text))
    assert told - known == set()


def test_every_exit_code_is_in_the_readme() -> None:
    for code in ExitCode:
        assert re.search(rf"^\| {int(code)} \|", TEXT, re.M), code


def test_every_file_of_a_pack_is_explained() -> None:
    assert all(f"| `{name}` |" in TEXT for name in PACK_FILES)


@pytest.mark.parametrize("path", PAGES, ids=page_id)
def test_links_and_pictures_are_there(path: Path) -> None:
    text = re.sub(r"```.*?```", "", path.read_text(encoding="utf-8"), flags=re.S)
    for target in re.findall(r"!?\[[^\]]*\]\(([^)\s]+)\)", text):
        assert not target.startswith(("http:", "https:")), target
        file, _, heading = target.partition("#")
        linked = (path.parent / file).resolve() if file else path
        assert linked.exists(), target
        if heading:
            titles = re.findall(r"^#+ (.*)$", linked.read_text(encoding="utf-8"), re.M)
            assert heading in {re.sub(r"[^\w -]", "", t).lower().replace(" ", "-") for t in titles}


def test_every_page_of_the_tour_is_linked_from_the_readme() -> None:
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    assert TOUR
    for path in TOUR:
        assert f"](docs/tour/{path.name})" in readme, path.name


def test_the_changelog_names_the_version() -> None:
    changelog = (ROOT / "CHANGELOG.md").read_text(encoding="utf-8")
    assert changelog.split("## ")[1].startswith(__version__)


def test_every_room_is_in_the_developers_map() -> None:
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    for room in (ROOT / "img2plate").iterdir():
        if room.is_dir() and (room / "__init__.py").is_file():
            assert f"img2plate/{room.name}/" in text


def blocks(path: Path, language: str) -> list[str]:
    """The fenced examples of a page in a language."""
    text = path.read_text(encoding="utf-8")
    return re.findall(rf"^```{language}\n(.*?)^```", text, re.M | re.S)


def example_lines(path: Path) -> list[str]:
    """Every `img2plate ...` that a page shows, in examples and inside the text."""
    lines = "".join(blocks(path, "sh")).splitlines()
    inside = re.findall(r"`(img2plate [^`]+)`", path.read_text(encoding="utf-8"))
    return [line for line in lines if line.startswith("img2plate")] + [
        line for line in inside if "COMMAND" not in line
    ]


EXAMPLES = [(path, line) for path in READ for line in example_lines(path)]
STAND_INS = {
    ".png": ROOT / "sample_inputs" / "trawler.png",
    ".jpg": ROOT / "sample_inputs" / "harbour.jpg",
    ".csv": ROOT / "sample_inputs" / "shop" / "stock.csv",
    ".toml": ROOT / "sample_inputs" / "figures" / "harbour-lamp.toml",
}
"""What lies in the reader's folder, for files that are not ours."""


def lay_out(words: list[str], folder: Path) -> list[str]:
    """Put the files that an example names into a folder; the words as a shell would give them."""
    words = [re.sub(r"(?<!\d)\*", "one", word) for word in words]  # 29x29*4: four boards
    (folder / "sample_inputs").symlink_to(ROOT / "sample_inputs")
    for word in words:
        path = folder / word
        if path.suffix in STAND_INS and not word.startswith("sample_inputs/"):
            path.parent.mkdir(parents=True, exist_ok=True)
            shutil.copyfile(STAND_INS[path.suffix], path)
    return words


def parse(words: list[str]) -> click.Context:
    """What click makes of a command line, without running it."""
    command: click.Command = cli
    context = click.Context(cli)
    while isinstance(command, click.Group):
        name, *words = words
        inner = command.get_command(context, name)
        assert inner is not None, name
        command = inner
    return command.make_context(command.name, words)


def values(context: click.Context, metavar: str) -> list[str]:
    """What a command line gives for parameters of a kind, told by what their help calls them."""
    found: list[str] = []
    for parameter in context.command.params:
        given = context.params.get(parameter.name or "")
        if metavar in (parameter.metavar or "") and given:
            found += [given] if isinstance(given, str) else [str(value) for value in given]
    return found


@pytest.mark.parametrize(
    "line", [line for _, line in EXAMPLES], ids=[f"{path.stem}: {line}" for path, line in EXAMPLES]
)
def test_examples_parse_and_name_what_exists(
    line: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    line = re.split(r" >>? ", line)[0]  # what the shell does with what is printed
    words = lay_out(shlex.split(line, comments=True)[1:], tmp_path)
    for word in words:
        if word.startswith("sample_inputs/"):
            assert Path(word).is_file(), word
    context = parse([word for word in words if word != "--help"])
    named = [name for name in values(context, "NAME|FILE") if "." not in name]
    palettes = [find_palette(name) for name in named or ["harbour-48"]]
    for value in values(context, "CODE"):
        for code in re.split(r"[,:]", value):
            if code and code not in {"lighter", "darker"} and not code.isdigit():
                assert all(code in palette.by_code for palette in palettes), code


def test_the_figure_of_the_tour_can_be_built(tmp_path: Path) -> None:
    example, roof = blocks(ROOT / "docs" / "tour" / "figures.md", "toml")
    (tmp_path / "chest.toml").write_text(example, encoding="utf-8")
    Image.new("RGBA", (16, 10), "#7b4a24").save(tmp_path / "chest-front.png")
    spec = read_figure(tmp_path / "chest.toml")
    assert [part.name for part in spec.parts] == ["chest"]
    assert build(spec).pieces
    (tmp_path / "house.toml").write_text(f'[figure]\npalette = "quay-24"\n{roof}', "utf-8")
    assert round(build(read_figure(tmp_path / "house.toml")).roofs[0].slope.degrees) == 37


def test_the_python_of_the_documents_runs(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    make = ["make", str(ROOT / "sample_inputs" / "trawler.png"), "--out", str(tmp_path / "packs")]
    assert CliRunner().invoke(cli, make).exit_code == 0
    (tmp_path / "sample_inputs").symlink_to(ROOT / "sample_inputs")
    monkeypatch.chdir(tmp_path)
    names: dict[str, Any] = {}
    for path in READ:
        for block in blocks(path, "python"):
            exec(compile(block, page_id(path), "exec"), names)
    assert names["pack"].counts.beads > 0
    assert len(set(names["shaded"].cells.ravel().tolist())) <= 8
    assert names["sheet"].files[0].is_file()
    assert {"colourways.png", "scattered.png"} <= {path.name for path in tmp_path.iterdir()}
