"""The documents keep up with the code: options, exit codes, rooms, version."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import click
import pytest
from click.testing import CliRunner

from img2plate import __version__
from img2plate.base.errors import ExitCode
from img2plate.base.files import PACK_FILES
from img2plate.ui.cli import cli

ROOT = Path(__file__).parents[1]
README = (ROOT / "README.md").read_text(encoding="utf-8")


def commands(group: click.Group, path: str = "") -> list[tuple[str, click.Command]]:
    found = []
    for name, command in group.commands.items():
        found.append((f"{path} {name}".strip(), command))
        if isinstance(command, click.Group):
            found += commands(command, f"{path} {name}")
    return found


COMMANDS = commands(cli)


@pytest.mark.parametrize(("name", "command"), COMMANDS, ids=[name for name, _ in COMMANDS])
def test_every_option_is_in_the_readme_and_helps(name: str, command: click.Command) -> None:
    assert command.help, name
    assert re.search(rf"\b{name.split()[-1]}\b", README), name
    for parameter in command.params:
        if isinstance(parameter, click.Option):
            assert any(option in README for option in parameter.opts), parameter.opts
            assert parameter.help, parameter.opts


def test_every_exit_code_is_in_the_readme() -> None:
    for code in ExitCode:
        assert re.search(rf"^\| {int(code)} \|", README, re.M), code


def test_every_file_of_a_pack_is_in_the_readme() -> None:
    assert all(f"| `{name}` |" in README for name in PACK_FILES)


def test_every_picture_of_the_readme_is_there() -> None:
    pictures = re.findall(r"!\[[^\]]*\]\(([^)]+)\)", README)
    assert pictures
    for picture in pictures:
        assert (ROOT / picture).is_file(), picture


def test_the_changelog_names_the_version() -> None:
    changelog = (ROOT / "CHANGELOG.md").read_text(encoding="utf-8")
    assert changelog.split("## ")[1].startswith(__version__)


def test_every_room_is_in_the_developers_map() -> None:
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    for room in (ROOT / "img2plate").iterdir():
        if room.is_dir() and (room / "__init__.py").is_file():
            assert f"img2plate/{room.name}/" in text


def test_the_python_of_the_readme_runs(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    make = ["make", str(ROOT / "sample_inputs" / "trawler.png"), "--out", str(tmp_path / "packs")]
    assert CliRunner().invoke(cli, make).exit_code == 0
    (tmp_path / "sample_inputs").symlink_to(ROOT / "sample_inputs")
    monkeypatch.chdir(tmp_path)
    section = README.split("### From Python")[1].split("\n## ")[0]
    code = "\n".join(re.findall(r"^(?:    (.*))?$", section, re.M))
    names: dict[str, Any] = {}
    exec(compile(code, "README.md", "exec"), names)
    assert len(set(names["shaded"].cells.ravel().tolist())) <= 8
    assert names["sheet"].files[0].is_file()
    assert {"colourways.png", "strewn.png"} <= {path.name for path in tmp_path.iterdir()}
