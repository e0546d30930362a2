"""What several tests share: small palettes and plates made from a seed."""

from __future__ import annotations

import contextlib
import csv
import os
from collections.abc import Iterator, Sequence
from pathlib import Path

import click
import numpy as np
import pytest

from img2plate.colour.palette import Bead, Palette
from img2plate.plate.plate import Plate

TESTS = Path(__file__).parent
DATA = TESTS / "data"
SAMPLES = TESTS.parent / "sample_inputs"


def some(*cases: object, long: Sequence[object] = ()) -> list[object]:
    """Cases for `parametrize`, those of `long` for long runs only."""
    return [*cases, *(pytest.param(case, marks=pytest.mark.soak) for case in long)]


@contextlib.contextmanager
def made_once(factory: pytest.TempPathFactory, name: str) -> Iterator[tuple[Path, bool]]:
    """A folder of the whole test run, and whether it is still to be filled.

    The processes of a run side by side wait here for the one that fills it.
    """
    import fcntl  # not on Windows

    root = factory.getbasetemp()
    root = root.parent if "PYTEST_XDIST_WORKER" in os.environ else root
    folder, filled = root / name, root / f"{name}-is-filled"
    with (root / f"{name}-lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        folder.mkdir(exist_ok=True)
        yield folder, not filled.exists()
        filled.touch()


def read_table(name: str) -> list[dict[str, str]]:
    """Rows of a reference table; its first line names the source."""
    lines = (DATA / name).read_text(encoding="utf-8").splitlines()
    assert lines[0].startswith("# Source:")
    return list(csv.DictReader(lines[1:]))


def make_palette(count: int, seed: int = 0) -> Palette:
    """A palette of distinct random colours."""
    rng = np.random.default_rng(seed)
    numbers = rng.choice(1 << 24, size=count, replace=False)
    beads = tuple(
        Bead(f"c{i}", f"colour {i}", (int(n) >> 16, int(n) >> 8 & 255, int(n) & 255))
        for i, n in enumerate(numbers)
    )
    return Palette(f"random-{count}", beads)


def make_plate(width: int, height: int, colours: int = 12, seed: int = 0) -> Plate:
    """A plate of random beads, a few cells empty."""
    rng = np.random.default_rng(seed)
    cells = rng.integers(-1, colours, size=(height, width)).astype(np.int16)
    cells[0, 0] = 0
    return Plate(cells, make_palette(colours, seed), "random")


def commands(group: click.Group, path: str = "") -> list[tuple[str, click.Command]]:
    """All commands below a group, each with the words that call it."""
    found: list[tuple[str, click.Command]] = []
    context = click.Context(group)
    for name in group.list_commands(context):
        command = group.get_command(context, name)
        assert command is not None
        found.append((f"{path} {name}".strip(), command))
        if isinstance(command, click.Group):
            found += commands(command, f"{path} {name}")
    return found
