"""A pack as one zip."""

from __future__ import annotations

import zipfile
from pathlib import Path

import pytest

from img2plate.base.archive import write_zip
from img2plate.base.errors import OutputError


def test_the_same_files_give_the_same_zip(tmp_path: Path) -> None:
    files = []
    for name in ("b.csv", "a.png"):
        (tmp_path / name).write_bytes(name.encode() * 500)
        files.append(tmp_path / name)
    write_zip(tmp_path / "gull.zip", files)
    first = (tmp_path / "gull.zip").read_bytes()
    write_zip(tmp_path / "gull.zip", reversed(files))
    assert (tmp_path / "gull.zip").read_bytes() == first
    with zipfile.ZipFile(tmp_path / "gull.zip") as archive:
        assert archive.namelist() == ["gull/a.png", "gull/b.csv"]
        assert archive.testzip() is None
        assert archive.read("gull/b.csv") == b"b.csv" * 500


def test_a_place_that_cannot_be_written(tmp_path: Path) -> None:
    (tmp_path / "a").write_text("x")
    with pytest.raises(OutputError):
        write_zip(Path("/proc/gull.zip"), [tmp_path / "a"])
