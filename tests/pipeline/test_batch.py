"""Many pictures side by side: the same packs, one that fails loses nothing, and a run goes on."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import numpy as np
import pytest
from command import run
from PIL import Image

from img2plate.base.errors import Img2PlateError, PictureError
from img2plate.pipeline.batch import MADE, run_many
from img2plate.pipeline.make import run as make_one
from img2plate.pipeline.options import MakeOptions, PackOptions
from img2plate.pipeline.pack import Pack

ROOT = Path(__file__).parents[2]


@pytest.fixture
def pictures(tmp_path: Path) -> list[Path]:
    """Three small sprites, and one file that is none, in the middle."""
    paths = []
    for number in range(3):
        cells = np.random.default_rng(number).integers(0, 2, (6, 7), np.uint8) * 200
        paths.append(tmp_path / f"flag{number}.png")
        Image.fromarray(cells).save(paths[-1])
    paths.insert(1, tmp_path / "torn.png")
    paths[1].write_bytes(paths[0].read_bytes()[:50])
    return paths


def made(pictures: list[Path], out: Path, jobs: int, go_on: bool = False) -> list[str]:
    """What was told of each picture, in a word."""
    told = []

    def tell(path: Path, result: list[Pack] | Img2PlateError | None) -> None:
        word = "left out" if result is None else "made" if isinstance(result, list) else "failed"
        told.append(f"{path.stem} {word}")
        if word == "failed":
            assert isinstance(result, PictureError)
            assert str(path) in str(result)

    options = MakeOptions(pack=PackOptions(out=out))
    run_many(pictures, [p.stem for p in pictures], options, tell, jobs=jobs, go_on=go_on)
    return told


def contents(folder: Path) -> dict[str, bytes]:
    return {
        str(path.relative_to(folder)): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file() and path.name not in (MADE, "counts.xlsx")  # it has its time in it
    }


def test_side_by_side_makes_what_one_makes_alone_and_goes_on(
    pictures: list[Path], tmp_path: Path
) -> None:
    told = ["flag0 made", "torn failed", "flag1 made", "flag2 made"]
    assert made(pictures, tmp_path / "two", jobs=2) == told
    for path in (pictures[0], *pictures[2:]):
        make_one(path, MakeOptions(pack=PackOptions(out=tmp_path / "alone")))
    assert contents(tmp_path / "two") == contents(tmp_path / "alone")

    pictures[1].write_bytes(pictures[0].read_bytes())
    Image.new("RGB", (4, 4), "red").save(pictures[2])
    told = ["flag0 left out", "torn made", "flag1 made", "flag2 left out"]
    assert made(pictures, tmp_path / "two", jobs=1, go_on=True) == told
    assert {t.split()[1] for t in made(pictures, tmp_path / "two", 1, go_on=True)} == {"left"}


@pytest.mark.soak
def test_what_was_made_is_known_whatever_the_hash_seed(
    pictures: list[Path], tmp_path: Path
) -> None:
    states = []
    for seed in ("1", "2"):
        out = tmp_path / "seed"
        command = [sys.executable, "-m", "img2plate", "make", str(pictures[0]), "--out", str(out),
                   "--without", "gul,mst", "--continue"]  # fmt: skip
        subprocess.run(command, check=True, cwd=ROOT, capture_output=True,
                       env={**os.environ, "PYTHONHASHSEED": seed})  # fmt: skip
        states.append(json.loads((out / MADE).read_text()))
        (out / MADE).unlink()
    assert states[0] == states[1]


def test_the_command_tells_what_failed_at_the_end(pictures: list[Path], tmp_path: Path) -> None:
    words = ["make", *map(str, pictures), "--out", str(tmp_path / "out"), "--jobs", "2"]
    done = run(*words, "--json")
    assert done.returncode == 3
    assert len(done.stdout.splitlines()) == 3
    assert done.stderr.splitlines()[-1] == f"1 file of 4 failed: {pictures[1]}"
    assert "3 files left out: done before" in run(*words, "--continue").stderr


def _heeds_ctrl_c() -> None:
    """Where the tests run in the background, a shell has programs not hear of it."""
    signal.signal(signal.SIGINT, signal.default_int_handler)


def test_ctrl_c_ends_all_processes_soon(pictures: list[Path], tmp_path: Path) -> None:
    slow = [str(pictures[0])] * 60
    command = [sys.executable, "-m", "img2plate", "make", *slow, "--out", str(tmp_path / "out"),
               "--jobs", "2"]  # fmt: skip
    with subprocess.Popen(
        command, cwd=ROOT, stderr=subprocess.PIPE, start_new_session=True, text=True,
        preexec_fn=_heeds_ctrl_c,
    ) as process:  # fmt: skip
        while not (tmp_path / "out").is_dir():
            time.sleep(0.05)
        os.killpg(process.pid, signal.SIGINT)
        _, said = process.communicate(timeout=30)
    assert process.returncode == 130
    assert "Traceback" not in said
