"""Each command that writes, where it cannot: one line, nothing half-written, nothing hidden.

The disk is full, a file may not grow, the disk can only be read, something of that name is in the
way, standard output is closed, Ctrl-C.
"""

from __future__ import annotations

import contextlib
import os
import random
import resource
import shlex
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from command import good, run
from support import SAMPLES

ROOT = Path(__file__).parents[2]
OUTPUT = 7
COMMANDS = {
    "make": "make {samples}/buoy.png --out {out}",
    "make several": "make {samples}/buoy.png {samples}/anchor.png --jobs 1 --continue --out {out}",
    "make zip": "make {samples}/buoy.png --template --zip --out {out}",
    "sheets": "sheets {pack}/plate.png --out {out}",
    "figure": "figure {samples}/figures/trawler-box.toml --out {out}",
    "finish": "finish {pack}/plate.png --outline hbr --grow --out {out}",
    "layout": "layout {pack}/plate.png {pack}/plate.png --out {out}",
    "letters": "letters Hi --height 5 --colour klp --name hi --out {out}",
    "recolour": "recolour {pack}/plate.png stb --out {out}",
    "recolour packs": "recolour {pack}/plate.png stb --write-packs --out {out}",
    "rebuild": "rebuild {pack}/plate.png --palette quay-24 --out {out}",
    "scatter": "scatter {pack}/plate.png --scatter klp --out {out}",
    "publish": "publish {pack} --out {out}/site",
    "compare": "compare {samples}/buoy.png --palette quay-24 --palette sea-96 --out {out}",
    "native": "native {samples}/buoy.png --out {out}",
    "fit": "fit --test-piece --out {out}",
    "fit plot": "fit --plot {out}/fit.png",
    "palette card": "palette card --out {out}/card.pdf",
    "palette show": "palette show quay-24 --out {out}/quay.png",
    "count": "count {pack}/plate.png --out {out}/counts.csv",
    "stock show": "stock show --palette harbour-48 --stock {out}/beads.csv --out {out}/shown.png",
    "stock take": "stock take {pack}/plate.png --stock {out}/beads.csv",
}
CODES = ("gul", "mst", "znc", "pew", "shp", "irn", "hbr", "prt", "stb", "oak", "dsk", "slt")
PRINTS = ("palette show", "stock show")
"""These print before they write; when nobody reads what they print, they end."""
WORST = ("make several", "palette card", "stock take")
"""In each run of the tests: a folder that becomes a pack, a file, one that is replaced."""


def each(*first: str) -> list[object]:
    """All commands, all but the first for long runs only."""
    return [
        name if name in first else pytest.param(name, marks=pytest.mark.soak) for name in COMMANDS
    ]


@pytest.fixture(scope="module")
def pack(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A small plate."""
    out = tmp_path_factory.mktemp("packs")
    good("letters", "Hi", "--height", "5", "--colour", "klp", "--name", "hi", "--out", out)
    return out / "hi"


def words(name: str, out: Path, pack: Path) -> list[str]:
    return shlex.split(COMMANDS[name].format(out=out, pack=pack, samples=SAMPLES))


def beads(out: Path) -> None:
    """What the stock commands read."""
    (out / "beads.csv").write_text("code,count\nklp,900\n" + "".join(f"{c},5\n" for c in CODES))


def seen(folder: Path) -> dict[str, bytes | None]:
    """All that lies there, hidden or not."""
    return {
        str(path.relative_to(folder)): path.read_bytes() if path.is_file() else None
        for path in folder.rglob("*")
        if path.name != "filler"
    }


@contextlib.contextmanager
def mounted(folder: Path) -> Iterator[None]:
    """A small disk of its own at a folder, or the test is skipped."""
    if not hasattr(os, "geteuid") or os.geteuid() != 0:
        pytest.skip("only the superuser may mount a disk")
    command = ["mount", "-t", "tmpfs", "-o", "size=256k", "tmpfs", str(folder)]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    if done.returncode:
        pytest.skip(f"no disk can be mounted here: {done.stderr.strip()}")
    try:
        yield
    finally:
        subprocess.run(["umount", "-l", str(folder)], check=True)


@contextlib.contextmanager
def full(folder: Path) -> Iterator[str]:
    with mounted(folder):
        beads(folder)
        with contextlib.suppress(OSError), (folder / "filler").open("wb", buffering=0) as file:
            while file.write(bytes(512)):
                pass
        yield "the disk is full"


@contextlib.contextmanager
def read_only(folder: Path) -> Iterator[str]:
    with mounted(folder):
        beads(folder)
        subprocess.run(["mount", "-o", "remount,ro", str(folder)], check=True)
        yield "that disk can only be read"


@contextlib.contextmanager
def short_files(folder: Path) -> Iterator[str]:
    """No file may have more than 64 bytes."""
    beads(folder)
    before = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (64, before[1]))
    try:
        yield "larger than this system allows"
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, before)


FAULTS: dict[str, Callable[[Path], contextlib.AbstractContextManager[str]]] = {
    "full": full,
    "read-only": read_only,
    "short files": short_files,
}


@pytest.mark.parametrize("fault", FAULTS)
@pytest.mark.parametrize("name", each(*WORST))
def test_where_nothing_can_be_written_nothing_is_left(
    name: str, fault: str, pack: Path, tmp_path: Path
) -> None:
    with FAULTS[fault](tmp_path) as why:
        before = seen(tmp_path)
        done = run(*words(name, tmp_path, pack))
        assert seen(tmp_path) == before
    if name == "make several":  # each of them is told, and how many in the end
        assert len(done.stderr.splitlines()) == 3
    else:
        assert len(done.stderr.splitlines()) == 1, done.stderr
        assert why in done.stderr
    assert done.returncode == OUTPUT
    assert "Traceback" not in done.stderr


@pytest.mark.parametrize("name", each("make", "palette card"))
def test_what_is_in_the_way_stays(name: str, pack: Path, tmp_path: Path) -> None:
    """Files where folders are to be, and folders where files are to be."""
    out = tmp_path / "out"
    out.mkdir()
    beads(out)
    good(*words(name, out, pack))
    written = [path for path in out.iterdir() if path.name != "beads.csv"]
    if name == "stock take":
        written = [out / "beads.csv"]
    for path in written:
        if path.is_dir():
            path.rename(tmp_path / path.name)
            path.write_text("mine")
        else:
            path.unlink()
            path.mkdir()
            (path / "mine").write_text("mine")
    before = seen(out)
    done = run(*words(name, out, pack))
    assert seen(out) == before
    assert done.returncode not in (0, 1), done.stderr
    assert "Traceback" not in done.stderr


PROGRAM = """
import sys
import img2plate.__main__ as program

class Begun:
    def find_spec(self, name, *_):
        if name == "img2plate.ui":
            sys.meta_path.remove(self)
            print("go", flush=True)

sys.meta_path.insert(0, Begun())
program.main()
"""
"""Says when it begins to load the command: what Python itself does before is not ours."""


def start(name: str, out: Path, pack: Path) -> subprocess.Popen[str]:
    """Begin a command; comes back when its program has begun."""
    command = [sys.executable, "-c", PROGRAM, *words(name, out, pack)]
    run = subprocess.Popen(
        command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, cwd=ROOT
    )
    assert run.stdout is not None
    assert run.stdout.readline() == "go\n"
    return run


@pytest.mark.parametrize("closed", ["no reader", "none"])
@pytest.mark.parametrize("name", each("make"))
def test_closed_standard_output_is_no_reason_to_fail(
    name: str, closed: str, pack: Path, tmp_path: Path
) -> None:
    """What is written is whole, and no traceback is told."""
    beads(tmp_path)
    rest = words(name, tmp_path, pack)
    rest += ["--json"] if name in ("make", "sheets", "count", "letters") else []
    command = [sys.executable, "-m", "img2plate", *rest]
    end = "| true" if closed == "no reader" else ">&-"
    done = subprocess.run(f"{shlex.join(command)} {end}", shell=True, capture_output=True,
                          text=True, cwd=ROOT, check=False)  # fmt: skip
    assert "Traceback" not in done.stderr
    assert "Exception ignored" not in done.stderr
    assert not [path for path in tmp_path.rglob(".*") if path.name != ".img2plate-made.json"]
    written = any(path.name != "beads.csv" for path in tmp_path.iterdir())
    assert written or name in ("stock take", *PRINTS)


@pytest.mark.parametrize("name", each("make"))
def test_ctrl_c_ends_it_and_leaves_nothing(
    name: str, pack: Path, tmp_path: Path, request: pytest.FixtureRequest
) -> None:
    """130, which is also what a shell makes of an end by the signal itself: Python's way when it
    came while code was compiled, or at the very end."""
    began = time.monotonic()
    start(name, tmp_path / "first", pack).communicate()
    long, chance = time.monotonic() - began, random.Random(name)
    for number in range(max(3, int(request.config.getoption("--kills")) // 20)):
        out = tmp_path / str(number)
        out.mkdir()
        beads(out)
        before = seen(out)
        with start(name, out, pack) as one:
            time.sleep(long * chance.random() if number else 0.0)
            one.send_signal(signal.SIGINT)
            _, said = one.communicate(timeout=20)
        assert "Traceback" not in said, said
        assert "Exception ignored" not in said, said
        assert one.returncode in (0, 130, -signal.SIGINT), said
        if one.returncode == 130:
            assert said.splitlines()[-1].startswith("img2plate: stopped"), said
        if name == "stock take":  # the old counts or the new ones, whole
            taken = {"beads.csv": before["beads.csv"].replace(b"klp,900", b"klp,882")}
            assert seen(out) in (before, taken)
        assert not [path for path in out.rglob(".*") if path.name != ".img2plate-made.json"]
