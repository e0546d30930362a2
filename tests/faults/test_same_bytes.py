"""The same input, options, seed and version give the same bytes, wherever and however it runs."""

from __future__ import annotations

import hashlib
import os
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path

import pytest
from support import some

ROOT = Path(__file__).parents[2]
SAMPLES = ROOT / "sample_inputs"
WAYS = {
    "hash seed": {"PYTHONHASHSEED": "77"},
    "zone and language": {"TZ": "Asia/Kathmandu", "LC_ALL": "C", "LANG": "C"},
    "plain processor": {"NPY_DISABLE_CPU_FEATURES": "AVX2 FMA3 AVX512F AVX512CD AVX512_SKX"},
    "threads": {"NUMBA_NUM_THREADS": "2", "OPENBLAS_NUM_THREADS": "2"},
}
LONG = {"loops for a plain processor": {"NUMBA_CPU_NAME": "generic"}}
"""Takes a minute, as all loops are compiled for it."""
PHOTO = ["make", str(SAMPLES / "harbour.jpg"), "--width", "20", "--zip", "--runs"]
SPRITE = ["make", str(SAMPLES / "puffin.png")]
FIGURE = ["figure", str(SAMPLES / "figures" / "trawler-box.toml")]


def made(
    commands: Sequence[list[str]], out: Path, cwd: Path, changes: dict[str, str]
) -> dict[str, str]:
    """What commands write, by name."""
    environment = {**os.environ, "PYTHONPATH": str(ROOT), **changes}
    for words in commands:
        command = [sys.executable, "-m", "img2plate", *words, "--out", str(out)]
        done = subprocess.run(
            command, cwd=cwd, env=environment, capture_output=True, text=True, check=False
        )
        assert done.returncode == 0, done.stderr
    return {
        str(path.relative_to(out)): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in out.rglob("*")
        if path.is_file()
    }


@pytest.mark.parametrize("way", some("all of them", long=(*WAYS, *LONG)))
def test_every_file_of_a_pack(way: str, tmp_path: Path) -> None:
    together = {name: value for changes in WAYS.values() for name, value in changes.items()}
    changes = (WAYS | LONG).get(way, together)
    elsewhere = tmp_path / "an other place, \u00fc"
    elsewhere.mkdir()
    commands = [PHOTO] if way == "all of them" else [PHOTO, SPRITE, FIGURE]
    first = made(
        commands, tmp_path / "one", ROOT, {"PYTHONHASHSEED": "1", "NUMBA_NUM_THREADS": "1"}
    )
    assert len(first) > 7
    assert made(commands, elsewhere / "packs", elsewhere, changes) == first
