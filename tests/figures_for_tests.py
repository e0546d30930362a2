"""Figures for the tests: parts from few words."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from support import make_palette

from img2plate.base.errors import FigureError
from img2plate.solid.box.build import Figure, build
from img2plate.solid.box.judged import exceptions_of
from img2plate.solid.check.lattice import Finding, Solid
from img2plate.solid.check.rules import check
from img2plate.solid.check.swing import Hinge
from img2plate.solid.file.figure_file import read_figure
from img2plate.solid.spec import FigureSpec, JoinSpec, PartSpec

PALETTE = make_palette(6)


def part(*size: int, name: str = "box", **more: Any) -> PartSpec:
    """A part of one colour, unless its cells say otherwise."""
    return PartSpec(name, (size[0], size[1], size[2]), **({"colour": 1} | more))


def figure(*parts: PartSpec, joins: tuple[JoinSpec, ...] = ()) -> Figure:
    """Build and check."""
    return build(FigureSpec("trial", PALETTE, parts, joins))


def figure_or_refusal(*parts: PartSpec, joins: tuple[JoinSpec, ...] = ()) -> Figure | str:
    """The figure, or what is said when it cannot be built."""
    try:
        return figure(*parts, joins=joins)
    except FigureError as error:
        return str(error)


def solids(made: Figure) -> list[Solid]:
    """What the checker sees."""
    return [Solid(p.title, p.group, p.voxels.copy(), p.axis) for p in made.pieces]


def beads(made: Figure, title: str) -> np.ndarray:
    """(n, 3) places of the beads of a plate."""
    return next(p.voxels for p in made.pieces if p.title == title)


def without(voxels: np.ndarray, gone: Iterable[object]) -> np.ndarray:
    """The places that are not among others."""
    taken = {tuple(v) for v in np.asarray(gone).tolist()}
    return np.array([v for v in voxels.tolist() if tuple(v) not in taken])


def findings(
    made: Figure, changed: Mapping[str, np.ndarray], hinges: Sequence[Hinge] = ()
) -> tuple[Finding, ...]:
    """What is found when plates have other beads, by their titles, and only these are wanted."""
    plates = [replace(s, voxels=changed.get(s.name, s.voxels)) for s in solids(made)]
    allowed = exceptions_of(made.pieces, made.spec.parts, made.spec.joins)
    return check(plates, [s.voxels for s in plates], allowed, made.rods, hinges).findings


def refused_at(path: Path, text: str, cases: Iterable[tuple[str, str, str, int]]) -> None:
    """For each old text, new text, word and line: the description is refused, so and there."""
    for old, new, word, line in cases:
        assert old in text
        path.write_text(text.replace(old, new, 1), "utf-8")
        with pytest.raises(FigureError, match=word) as caught:
            build(read_figure(path))
        assert caught.value.line == line, caught.value


def shell(*size: int) -> np.ndarray:
    """(n, 3) places of a box's outer layer, by numpy alone."""
    mask = np.ones(size, dtype=bool)
    mask[1:-1, 1:-1, 1:-1] = False
    return np.argwhere(mask)


def shed_text(figure: str, part: str = "") -> str:
    """A description of a shed of one part that has a colourway, with more keys for either table."""
    return f"""[figure]
{figure}[colourway.dusk]
prt = "stb"
[[part]]
name = "shed"
size = [8, 8, 8]
colour = "prt"
{part}"""
