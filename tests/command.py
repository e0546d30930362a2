"""The command line in this very process: a run costs what it does, not the start of Python.

`run` goes through `main()` as the installed command does, so that exit codes and the one line of
an error are those that people see. `run_program` is for what only a program of its own can show.
"""

from __future__ import annotations

import contextlib
import io
import subprocess
import sys
from pathlib import Path
from unittest import mock

from img2plate.ui.cli import main

Done = subprocess.CompletedProcess[str]


def run(*arguments: object, cwd: Path | None = None) -> Done:
    """Run `img2plate` with these words, as if in the folder `cwd`."""
    words = ["img2plate", *map(str, arguments)]
    out, said = io.StringIO(), io.StringIO()
    with (
        mock.patch.object(sys, "argv", words),
        contextlib.chdir(cwd or Path.cwd()),
        contextlib.redirect_stdout(out),
        contextlib.redirect_stderr(said),
    ):
        code = _exit_code()
    return subprocess.CompletedProcess(words, code, out.getvalue(), said.getvalue())


def _exit_code() -> int:
    try:
        main()
    except SystemExit as left:
        return left.code if isinstance(left.code, int) else int(left.code is not None)
    return 0


def run_program(*arguments: object, cwd: Path | None = None) -> Done:
    """Run `img2plate` in a process of its own."""
    command = [sys.executable, "-m", "img2plate", *map(str, arguments)]
    return subprocess.run(command, capture_output=True, text=True, cwd=cwd, check=False)


def good(*arguments: object, cwd: Path | None = None) -> Done:
    """Run a command that must succeed."""
    done = run(*arguments, cwd=cwd)
    assert done.returncode == 0, done.stderr
    return done


def one_line(done: Done, code: int, *words: str) -> None:
    """A refusal: exit code, one line on standard error with these words, nothing else."""
    assert done.returncode == code, done.stderr
    assert len(done.stderr.splitlines()) == 1, done.stderr
    assert "Traceback" not in done.stderr
    assert not done.stdout
    for word in words:
        assert word in done.stderr
