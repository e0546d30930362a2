"""What a shell offers after the first letters: commands, options, palettes, words."""

from __future__ import annotations

import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from click.shell_completion import ShellComplete, get_completion_class

from img2plate.ui.cli import cli

VARIABLE = "_IMG2PLATE_COMPLETE"
SHELLS = ["bash", "zsh", "fish"]


def completer(shell: str) -> ShellComplete:
    kind = get_completion_class(shell)
    assert kind is not None
    return kind(cli, {}, "img2plate", VARIABLE)


def offered(shell: str, *words: str) -> list[str]:
    *before, last = words
    return [item.value for item in completer(shell).get_completions(before, last)]


@pytest.mark.parametrize("shell", SHELLS)
def test_commands_options_and_values(shell: str) -> None:
    assert "make" in offered(shell, "ma")
    assert {"--shading", "--shrink"} & set(offered(shell, "make", "--sh")) == {"--shading"}
    assert offered(shell, "make", "--palette", "har")[0] == "harbour-48"
    assert offered(shell, "make", "--shading", "blue") == ["blue-noise"]
    assert offered(shell, "make", "--fit", "co") == ["cover", "contain"]
    assert "show" in offered(shell, "stock", "")
    assert "--write-pack" in offered(shell, "compare", "x.png", "--w")


def test_a_palette_may_also_be_a_file() -> None:
    items = completer("bash").get_completions(["make", "--palette"], "mine")
    assert [item.type for item in items] == ["file"]


@pytest.mark.parametrize("shell", SHELLS)
def test_the_script_for_a_shell(shell: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(
        "click.shell_completion.BashComplete._check_version", staticmethod(lambda: None)
    )
    script = completer(shell).source()
    assert "_img2plate_completion" in script
    assert f"{VARIABLE}={shell}_complete" in script


@pytest.mark.skipif(shutil.which("bash") is None, reason="no bash here")
def test_bash_completes_with_the_script(tmp_path: Path) -> None:
    program = tmp_path / "img2plate"
    program.write_text(f"#!/bin/sh\nexec {sys.executable} -c '{PROGRAM}' \"$@\"\n")
    program.chmod(0o755)
    asked = (
        f'PATH={tmp_path}:$PATH; eval "$({VARIABLE}=bash_source img2plate)"\n'
        "COMP_WORDS=(img2plate make --palette qu); COMP_CWORD=3\n_img2plate_completion img2plate\n"
        'echo "${COMPREPLY[@]}"'
    )
    done = subprocess.run(["bash", "-c", asked], capture_output=True, text=True, check=True)
    assert "quay-24" in done.stdout.split()


PROGRAM = 'import sys; sys.argv[0] = "img2plate"; from img2plate.ui.cli import main; main()'
