"""Pictures made by a Dask cluster: the same packs as alone, also when a worker is killed."""

from __future__ import annotations

import os
import signal
import threading
import time
from pathlib import Path

import numpy as np
import pytest
from command import good, one_line, run
from PIL import Image

from img2plate.base.errors import Img2PlateError
from img2plate.pipeline.batch import MADE, run_many
from img2plate.pipeline.cluster import Cluster, pictures_in
from img2plate.pipeline.make import run as make_one
from img2plate.pipeline.options import MakeOptions, PackOptions
from img2plate.pipeline.pack import Pack


def contents(folder: Path) -> dict[str, bytes]:
    return {
        str(path.relative_to(folder)): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file() and path.name not in (MADE, "counts.xlsx")  # it has its time in it
    }


def flags(folder: Path, number: int) -> Path:
    """A folder of small sprites, of a file that is none, and of one that is no picture at all."""
    folder.mkdir()
    for seed in range(number):
        cells = np.random.default_rng(seed).integers(0, 2, (6, 7), np.uint8) * 200
        Image.fromarray(cells).save(folder / f"flag{seed}.png")
    (folder / "torn.png").write_bytes((folder / "flag0.png").read_bytes()[:50])
    (folder / "notes.txt").write_text("mine")
    return folder


def test_a_folder_stands_for_its_pictures(tmp_path: Path) -> None:
    found = pictures_in([flags(tmp_path / "f", 2)])
    assert [path.name for path in found] == ["flag0.png", "flag1.png", "torn.png"]
    (tmp_path / "empty").mkdir()
    one_line(run("batch", tmp_path / "empty"), 2, "holds no picture")


@pytest.mark.soak
def test_nobody_at_the_address_is_told(tmp_path: Path) -> None:
    pytest.importorskip("distributed")
    words = (flags(tmp_path / "f", 1), "--scheduler", "tcp://127.0.0.1:1", "--out", tmp_path)
    one_line(run("batch", *words), 2, "nobody answers there")


@pytest.mark.soak
def test_two_workers_one_of_them_killed_make_what_one_makes_alone(tmp_path: Path) -> None:
    distributed = pytest.importorskip("distributed")
    images = pictures_in([flags(tmp_path / "f", 12)])
    names = [path.stem for path in images]
    options = MakeOptions(pack=PackOptions(out=tmp_path / "packs"))
    told: list[str] = []

    def tell(path: Path, result: list[Pack] | Img2PlateError | None) -> None:
        word = "left out" if result is None else "made" if isinstance(result, list) else "failed"
        told.append(f"{path.stem} {word}")

    killed: list[int] = []
    with distributed.LocalCluster(
        n_workers=2, threads_per_worker=1, dashboard_address=None, silence_logs=50
    ) as cluster:

        def kill() -> None:
            while not (tmp_path / "packs").is_dir():
                time.sleep(0.01)
            killed.append(cluster.workers[0].pid)
            os.kill(killed[0], signal.SIGKILL)

        killer = threading.Thread(target=kill)
        killer.start()
        by = Cluster(scheduler=cluster.scheduler_address)
        run_many(images, names, options, tell, jobs=1, go_on=True, by=by)
        killer.join()
    assert killed
    made = [f"{name} {'failed' if name == 'torn' else 'made'}" for name in names]
    assert told == made
    alone = MakeOptions(pack=PackOptions(out=tmp_path / "alone"))
    for path in images:
        if path.stem != "torn":
            make_one(path, alone)
    assert contents(tmp_path / "packs") == contents(tmp_path / "alone")

    told.clear()
    images[0].write_bytes(images[1].read_bytes())
    run_many(images, names, options, tell, jobs=1, go_on=True, by=Cluster(2))
    assert [word.split(" ", 1)[1] for word in told] == ["made", *["left out"] * 11, "failed"]


@pytest.mark.soak
def test_the_command_makes_a_folder_and_then_leaves_it_out(tmp_path: Path) -> None:
    pytest.importorskip("distributed")
    folder = flags(tmp_path / "f", 2)
    (folder / "torn.png").unlink()
    words = ("batch", folder, "--workers", "1", "--out", tmp_path / "packs")
    assert good(*words).stderr.count("print sheets.pdf") == 2
    assert "2 files left out" in good(*words).stderr
