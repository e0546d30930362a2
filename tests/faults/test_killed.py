"""Runs killed at any moment: the old or the new is there, whole, and the next run sweeps the rest.

`--kills N` kills so many times; `python3 dev.py soak` kills each command 300 times.
"""

from __future__ import annotations

import contextlib
import hashlib
import random
import shutil
import subprocess
import sys
import textwrap
import time
from dataclasses import replace
from pathlib import Path

import pytest
from support import make_plate, some

from img2plate.base.errors import OutputError
from img2plate.base.files import pack_folder, safe_file
from img2plate.base.leftovers import MARK
from img2plate.plate.document import write_plate

ROOT = Path(__file__).parents[2]
SAMPLES = ROOT / "sample_inputs"
FILES = ("plate.png", "sheets.pdf", "counts.csv")
WRITER = textwrap.dedent("""
    import sys
    from pathlib import Path
    from img2plate.base.files import pack_folder, safe_file
    out = Path(sys.argv[1])
    print("go", flush=True)
    for number in range(100000):
        with pack_folder(out / "gull") as new:
            for name in ("plate.png", "sheets.pdf", "counts.csv"):
                (new / name).write_text(str(number) * 1000)
        with safe_file(out / "stock.csv") as file:
            file.write_text(str(number) * 1000)
""")


class FailedError(Exception):
    """A run that ends early."""


def leftovers(folder: Path) -> list[Path]:
    return [path for path in folder.rglob("*") if MARK in path.name]


def next_run(out: Path) -> None:
    """Begin to write the same again, which sweeps, and write nothing."""
    with contextlib.suppress(FailedError), pack_folder(out / "gull"):
        raise FailedError
    with contextlib.suppress(FailedError), safe_file(out / "stock.csv"):
        raise FailedError


def test_what_is_written_is_whole_whenever_the_writer_is_killed(
    tmp_path: Path, request: pytest.FixtureRequest
) -> None:
    chance, left = random.Random(7), 0
    with pack_folder(tmp_path / "gull") as new:
        for name in FILES:
            (new / name).write_text("first")
    (tmp_path / "gull" / "notes.txt").write_text("mine")
    for _ in range(int(request.config.getoption("--kills"))):
        command = [sys.executable, "-c", WRITER, str(tmp_path)]
        with subprocess.Popen(command, stdout=subprocess.PIPE, cwd=ROOT) as writer:
            assert writer.stdout is not None
            assert writer.stdout.readline() == b"go\n"
            time.sleep(chance.random() * 0.02)
            writer.kill()
        left += bool(leftovers(tmp_path))
        next_run(tmp_path)
        assert not leftovers(tmp_path)
        assert {path.name for path in tmp_path.iterdir()} <= {"gull", "stock.csv"}
        assert len({(tmp_path / "gull" / name).read_text() for name in FILES}) == 1
        assert (tmp_path / "gull" / "notes.txt").read_text() == "mine"
    assert left, "no run was killed in the middle"


def test_a_pack_that_was_being_replaced_comes_back(tmp_path: Path) -> None:
    """Killed between the two renames: the one moment in which nothing is in the pack's place."""
    beside = tmp_path / f".gull{MARK}old-x" / "gull"
    beside.mkdir(parents=True)
    (beside / "plate.png").write_text("old")
    next_run(tmp_path)
    assert (tmp_path / "gull" / "plate.png").read_text() == "old"
    assert not leftovers(tmp_path)


def test_a_living_neighbour_stays_and_of_two_runs_one_wins(tmp_path: Path) -> None:
    with pack_folder(tmp_path / "gull") as slow:
        (slow / "plate.png").write_text("slow")
        next_run(tmp_path)
        assert slow.is_dir()

    def overtaken() -> None:
        with pack_folder(tmp_path / "gull") as slow, pack_folder(tmp_path / "gull") as fast:
            (slow / "plate.png").write_text("slow")
            (fast / "plate.png").write_text("fast")

    for _ in ("a pack is there", "none is"):
        with pytest.raises(OutputError, match="another run has written"):
            overtaken()
        assert (tmp_path / "gull" / "plate.png").read_text() == "fast"
        assert not leftovers(tmp_path)
        shutil.rmtree(tmp_path / "gull")


def digest(folder: Path) -> dict[str, str]:
    """What lies in a folder, by name."""
    return {
        str(path.relative_to(folder)): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in folder.rglob("*")
        if path.is_file() and path.name != "counts.xlsx"  # has the time of its making
    }


COMMANDS = {
    "make": (["make", str(SAMPLES / "puffin.png"), "--out", "{out}"], "puffin"),
    "figure": (["figure", str(SAMPLES / "figures" / "trawler-box.toml"), "--out", "{out}"],
               "trawler-box"),
    "sheets": (["sheets", "{plate}", "--out", "{out}"], "gull"),
}  # fmt: skip


@pytest.mark.parametrize("name", some("make", long=["figure", "sheets"]))
def test_a_killed_command_leaves_the_old_pack_or_the_new(
    name: str, tmp_path: Path, request: pytest.FixtureRequest
) -> None:
    words, pack = COMMANDS[name]
    plate = tmp_path / "gull.png"
    write_plate(plate, replace(make_plate(30, 20, colours=9), name="gull"))
    words = [word.format(out=tmp_path, plate=plate) for word in words]
    command = [sys.executable, "-m", "img2plate", *words]
    chance = random.Random(name)
    start = time.monotonic()
    subprocess.run(command, check=True, capture_output=True, cwd=ROOT)
    long, new = time.monotonic() - start, digest(tmp_path / pack)
    kept = shutil.move(tmp_path / pack, tmp_path / "kept")
    older = tmp_path / "older"  # with the plate as it was made: what is touched up would be kept
    older.mkdir()
    for file in kept.glob("plate.png"):
        shutil.copy(file, older)
    (older / "counts.csv").write_text("old")
    old = digest(older)
    for _ in range(max(1, int(request.config.getoption("--kills")) // 20)):
        shutil.rmtree(tmp_path / pack, ignore_errors=True)
        shutil.copytree(older, tmp_path / pack)
        with subprocess.Popen(
            command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, cwd=ROOT
        ) as run:
            time.sleep(long * (0.3 + 0.7 * chance.random()))
            run.kill()
        assert digest(tmp_path / pack) in (old, new)
        for path in leftovers(tmp_path):
            assert path.name.startswith(f".{pack}{MARK}")
        with contextlib.suppress(FailedError), pack_folder(tmp_path / pack):
            raise FailedError
        assert not leftovers(tmp_path)
