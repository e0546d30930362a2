"""What a shell offers after the first letters: commands, options, palettes, words."""

from __future__ import annotations

import os
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


def completes(shell: str, asked: str, folder: Path) -> str:
    """What a real shell prints, with `img2plate` on its path."""
    if shutil.which(shell) is None:
        pytest.skip(f"no {shell} here")
    program = folder / "img2plate"
    program.write_text(f"#!/bin/sh\nexec {sys.executable} -c '{PROGRAM}' \"$@\"\n")
    program.chmod(0o755)
    places = {**os.environ, "PATH": f"{folder}:{os.environ['PATH']}", "HOME": str(folder)}
    done = subprocess.run([shell, "-c", asked], capture_output=True, text=True, env=places)
    assert done.returncode == 0, done.stderr
    return done.stdout


PROGRAM = 'import sys; sys.argv[0] = "img2plate"; from img2plate.ui.cli import main; main()'


def test_bash_completes_with_the_script(tmp_path: Path) -> None:
    asked = (
        f'eval "$({VARIABLE}=bash_source img2plate)"\n'
        "COMP_WORDS=(img2plate make --palette qu); COMP_CWORD=3\n"
        '_img2plate_completion img2plate; echo "${COMPREPLY[@]}"'
    )
    assert completes("bash", asked, tmp_path).split() == ["quay-24"]


def test_zsh_completes_with_the_script(tmp_path: Path) -> None:
    asked = (
        "compdef() { :; }; compadd() { local named=${@[-1]}; print -r -- ${(P)named}; }\n"
        f'eval "$({VARIABLE}=zsh_source img2plate)"\n'
        "words=(img2plate make --palette qu); CURRENT=4; _img2plate_completion"
    )
    assert "quay-24" in completes("zsh", asked, tmp_path)


def test_fish_completes_with_the_script(tmp_path: Path) -> None:
    asked = f'{VARIABLE}=fish_source img2plate | source; complete -C "img2plate make --palette qu"'
    assert completes("fish", asked, tmp_path).split() == ["quay-24"]
