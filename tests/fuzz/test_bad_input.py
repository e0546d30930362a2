"""Damaged files: each reader takes them or says in one line what is wrong, soon and in little room.

`--inputs N` reads so many for each reader; `python3 dev.py soak` reads 100,000.
"""

from __future__ import annotations

import tempfile
import time
from pathlib import Path

import pytest
from fuzz.mutations import mutated
from fuzz.readers import READERS

from img2plate.base.errors import Img2PlateError

LONGEST_S, MOST_KB = 5.0, 800_000
REGRESSIONS = Path(__file__).parents[1] / "data" / "bad"


def memory_kb(field: str) -> int:
    """What this process holds now (VmRSS) or held at most (VmHWM); man 5 proc."""
    lines = Path("/proc/self/status").read_text(encoding="ascii", errors="replace").splitlines()
    return next(int(line.split()[1]) for line in lines if line.startswith(f"{field}:"))


def read(path: Path, name: str) -> str:
    """What a reader says of a file: empty when it takes it."""
    start = time.monotonic()
    said = ""
    try:
        READERS[name].read(path)
    except Img2PlateError as error:
        said = str(error)
        assert said.strip(), "an error without words"
        assert "\n" not in said, f"more than a line: {said!r}"
    assert time.monotonic() - start < LONGEST_S
    return said


@pytest.mark.parametrize("name", READERS)
def test_any_damage_is_read_or_told_in_a_line(
    name: str, tmp_path: Path, request: pytest.FixtureRequest, capfd: pytest.CaptureFixture[str]
) -> None:
    reader, path = READERS[name], tmp_path / f"input{READERS[name].suffix}"
    seeds = reader.seeds()
    for seed in seeds:
        path.write_bytes(seed)
        READERS[name].read(path)  # an error would make the rest say nothing
    # Other tests have run in this process: its most is counted anew from here.
    Path("/proc/self/clear_refs").write_text("5", encoding="ascii")
    before = memory_kb("VmRSS")
    refused = 0
    inputs = int(int(request.config.getoption("--inputs")) * reader.share)
    for number in range(inputs):
        data = mutated(number, seeds, reader.is_text)
        path.write_bytes(data)
        try:
            refused += bool(read(path, name))
        except Exception as error:
            kept = Path(tempfile.gettempdir()) / f"bad-{name}-{number}{reader.suffix}"
            kept.write_bytes(data)
            raise AssertionError(f"input {number} of {name}, kept as {kept}") from error
    assert 0 < refused < inputs
    assert capfd.readouterr() == ("", "")
    assert memory_kb("VmHWM") - before < MOST_KB


@pytest.mark.parametrize("path", sorted(REGRESSIONS.glob("*-*")), ids=lambda path: path.stem)
def test_what_once_ended_otherwise_is_told_in_a_line(
    path: Path, tmp_path: Path, capfd: pytest.CaptureFixture[str]
) -> None:
    name = path.name.partition("-")[0]
    copy = tmp_path / f"input{path.suffix}"  # a reader may write beside it
    copy.write_bytes(path.read_bytes())
    assert read(copy, name)
    assert capfd.readouterr() == ("", "")
