"""Kept machine code is that of the sources as they are, wherever the package is installed."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from img2plate.base import loop_cache
from img2plate.base.loop_cache import MOST_KEPT, PACKAGE, source_digest

CALLED = """
from img2plate.base.compiled import compiled

@compiled
def step(x):
    return x + {}
"""
CALLING = """
from img2plate.base.compiled import compiled
from img2plate.base.called import step

@compiled
def twice(x):
    return step(step(x))
"""
SHOW = """
from img2plate.base.calling import twice

print(twice(0), sum(twice.stats.cache_hits.values()))
"""


@pytest.fixture
def package(tmp_path: Path) -> Path:
    """A copy of the package with a loop that calls a loop of another file."""
    copy = tmp_path / "site" / "img2plate"
    shutil.copytree(PACKAGE, copy, ignore=shutil.ignore_patterns("__pycache__"))
    (copy / "base" / "called.py").write_text(CALLED.format(1))
    (copy / "base" / "calling.py").write_text(CALLING)
    return copy


def show(package: Path, code: str = SHOW, **environment: str) -> list[str]:
    """Words that code prints in the copy: what its loop gives, whether that was kept before."""
    done = subprocess.run(
        [sys.executable, "-c", code],
        env={**os.environ, "PYTHONPATH": str(package.parent), **environment},
        cwd=package.parent,
        capture_output=True,
        text=True,
        check=True,
    )
    return done.stdout.split()


def test_a_change_in_a_called_file_is_seen(package: Path, tmp_path: Path) -> None:
    kept = {"NUMBA_CACHE_DIR": str(tmp_path / "kept")}
    assert show(package, **kept) == ["2", "0"]
    assert show(package, **kept) == ["2", "1"]
    (package / "base" / "called.py").write_text(CALLED.format(5))
    assert show(package, **kept) == ["10", "0"]
    assert len(list((tmp_path / "kept").iterdir())) == 2
    assert not list(package.rglob("*.nb[ic]"))


def test_it_is_known_whether_a_folder_was_compiled_before(package: Path, tmp_path: Path) -> None:
    ask = "from img2plate.base.loop_cache import is_kept; print(is_kept('base'), is_kept('search'))"
    kept = {"NUMBA_CACHE_DIR": str(tmp_path / "kept")}
    assert show(package, ask, **kept) == ["False", "False"]
    show(package, **kept)
    assert show(package, ask, **kept) == ["True", "False"]


def test_code_is_kept_in_the_users_cache_folder(package: Path, tmp_path: Path) -> None:
    show(package, NUMBA_CACHE_DIR="", XDG_CACHE_HOME=str(tmp_path / "cache"))
    assert list((tmp_path / "cache" / "img2plate" / "loops").rglob("*.nbi"))


def test_loops_run_where_nothing_can_be_kept(package: Path, tmp_path: Path) -> None:
    (tmp_path / "a-file").touch()
    nowhere = str(tmp_path / "a-file" / "folder")
    assert show(package, NUMBA_CACHE_DIR=nowhere, TMPDIR=str(tmp_path)) == ["2", "0"]
    assert not list(tmp_path.glob("img2plate-loops-*"))  # gone with its process


def test_only_sources_that_loops_are_made_of_count(package: Path) -> None:
    before = source_digest(package)
    with (package / "ui" / "cli" / "__init__.py").open("a") as file:
        file.write("# a word\n")
    assert source_digest(package) == before
    with (package / "colour" / "spaces.py").open("a") as file:  # its constants are compiled in
        file.write("# a word\n")
    assert source_digest(package) != before


@pytest.mark.parametrize(
    "line",
    [
        "from img2plate.base import lengths",
        "from img2plate.base import (\n    errors,\n    lengths,\n)",
        "from img2plate.base.lengths import PAPERS",
        "import img2plate.base.lengths",
    ],
)
def test_every_form_of_import_is_followed(line: str) -> None:
    assert PACKAGE / "base" / "lengths.py" in loop_cache._imported(PACKAGE, line.encode())


def test_states_that_were_not_used_for_long_go(tmp_path: Path) -> None:
    for age in range(MOST_KEPT + 3):
        state = tmp_path / f"{age:032x}"
        state.mkdir()
        os.utime(state, (1e9 - age, 1e9 - age))
    (tmp_path / "of-another-program").mkdir()
    loop_cache._prune(tmp_path / f"{MOST_KEPT + 2:032x}")
    left = {path.name for path in tmp_path.iterdir()}
    wanted = {f"{age:032x}" for age in [*range(MOST_KEPT), MOST_KEPT + 2]}
    assert left == {*wanted, "of-another-program"}


def test_a_process_that_is_given_fewer_cores_runs_kept_loops_and_compiles_others(
    package: Path, tmp_path: Path
) -> None:
    ask = (
        "import numba; from img2plate.base.compiled import use_cores; use_cores(1)\n"
        "from img2plate.base.calling import twice\n"
        "print(twice(0), numba.get_num_threads())\n"
        "print(numba.njit(lambda x: x + 3)(4), numba.get_num_threads())"
    )
    kept = {"NUMBA_CACHE_DIR": str(tmp_path / "kept"), "NUMBA_NUM_THREADS": "2"}
    show(package, **kept)
    assert show(package, ask, **kept) == ["2", "1", "7", "1"]
