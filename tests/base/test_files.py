"""No half packs: an old pack survives a failed run, and nothing of the user's is lost."""

from __future__ import annotations

import errno
import os
import subprocess
from pathlib import Path

import pytest

from img2plate.base.errors import OutputError
from img2plate.base.files import pack_folder, safe_file


def names(folder: Path) -> set[str]:
    return {path.name for path in folder.iterdir()}


def test_a_pack_appears_whole(tmp_path: Path) -> None:
    with pack_folder(tmp_path / "out" / "gull") as new:
        (new / "plate.png").write_text("x")
        assert not (tmp_path / "out" / "gull").exists()
    assert names(tmp_path / "out") == {"gull"}
    assert names(tmp_path / "out" / "gull") == {"plate.png"}


def test_a_failed_run_leaves_the_old_pack_and_nothing_else(tmp_path: Path) -> None:
    with pack_folder(tmp_path / "gull") as new:
        (new / "plate.png").write_text("old")

    def fail_half_way() -> None:
        with pack_folder(tmp_path / "gull") as new:
            (new / "plate.png").write_text("half")
            raise RuntimeError

    with pytest.raises(RuntimeError):
        fail_half_way()
    assert names(tmp_path) == {"gull"}
    assert (tmp_path / "gull" / "plate.png").read_text() == "old"


def test_a_new_pack_carries_over_what_the_user_added(tmp_path: Path) -> None:
    with pack_folder(tmp_path / "gull") as new:
        (new / "plate.png").write_text("old")
        (new / "follow.html").write_text("old")
    (tmp_path / "gull" / "notes.txt").write_text("mine")
    with pack_folder(tmp_path / "gull") as new:
        (new / "plate.png").write_text("new")
    assert names(tmp_path) == {"gull"}
    assert names(tmp_path / "gull") == {"plate.png", "notes.txt"}
    assert (tmp_path / "gull" / "plate.png").read_text() == "new"


def test_a_folder_that_is_no_pack_is_not_touched(tmp_path: Path) -> None:
    (tmp_path / "gull").mkdir()
    (tmp_path / "gull" / "photo.jpg").write_text("mine")
    with pytest.raises(OutputError, match="an earlier run wrote"), pack_folder(tmp_path / "gull"):
        pass
    (tmp_path / "file").write_text("mine")
    for target in (tmp_path / "file", tmp_path / "file" / "gull"):
        with pytest.raises(OutputError, match="file"), pack_folder(target):
            pass
    assert names(tmp_path) == {"gull", "file"}


def test_full_disk_is_said(tmp_path: Path) -> None:
    with (
        pytest.raises(OutputError, match=r"disk is full.*`out`"),
        pack_folder(tmp_path / "gull"),
    ):
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
    assert not names(tmp_path)


def test_full_disk_for_real(tmp_path: Path) -> None:
    """A file system of 64 kB in memory, where the machine lets us mount one."""
    small = tmp_path / "small"
    small.mkdir()
    mount = ["mount", "-t", "tmpfs", "-o", "size=64k", "tmpfs", str(small)]
    try:
        if subprocess.run(mount, capture_output=True, check=False).returncode:
            pytest.skip("may not mount a file system here")
    except FileNotFoundError:
        pytest.skip("no mount command here")
    try:
        with pytest.raises(OutputError, match="disk is full"), pack_folder(small / "gull") as new:
            (new / "plate.png").write_bytes(bytes(200_000))
        assert not names(small)
    finally:
        subprocess.run(["umount", str(small)], check=True)


def test_safe_file_replaces_at_the_end(tmp_path: Path) -> None:
    path = tmp_path / "a.png"
    path.write_text("old")

    def fail_half_way() -> None:
        with safe_file(path) as temporary:
            temporary.write_text("half")
            raise RuntimeError

    with pytest.raises(RuntimeError):
        fail_half_way()
    assert path.read_text() == "old"
    with safe_file(path) as temporary:
        temporary.write_text("new")
    assert path.read_text() == "new"
    assert names(tmp_path) == {"a.png"}
    with pytest.raises(OutputError), safe_file(path / "b.png"):
        pass
