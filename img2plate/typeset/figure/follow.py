"""`follow.html` of a figure: all its plates bead by bead, each with the ticks of its own.

The plates lie below each other in one grid; equal ones share their cells there.
"""

from __future__ import annotations

import hashlib
from pathlib import Path
from typing import Any

import numpy as np

from img2plate.base.arrays import Cells
from img2plate.plate.enlarged import cells_digest
from img2plate.solid.box.build import Figure
from img2plate.solid.equal import equal_plates
from img2plate.tally.counts import Counts
from img2plate.typeset.figure.face_down import laid_face_down
from img2plate.typeset.figure.joint_marks import seen_words
from img2plate.typeset.figure.laying import Plan
from img2plate.typeset.follow import describe_cells, describe_colours, here, write_page

_BESIDE = """\
    <h2>Joints of this plate</h2>
    <p id="joints"></p>
    <h2 id="all-plates">Plates</h2>
    <div id="plates"></div>
"""


def write_figure_follow(path: Path, figure: Figure, counts: Counts, plan: Plan) -> None:
    """Write the page for all plates of a figure, as they lie on boards."""
    words = {
        "{BOARD}": "plate", "{HEADS}": "Plates", "{KEYS}": ", N and P go to other plates",
        "{ABOUT}": here("plates.html"),
        "{PLATES}": _BESIDE,
        "{MORE}": f"<script>{plates_script()}</script>\n",
    }  # fmt: skip
    laid = laid_face_down(figure) if plan.printing.mirrored else figure
    described = _describe(laid, counts, plan)
    for plate in described["plates"]:  # equal plates are laid from the page of the first
        plate["board"] = plan.numbers.get(plate["group"][0], 0)
    described["key"] = _key(figure)  # the ticks of one figure, whichever way it is laid
    write_page(path, figure.spec.title, described, words)


def plates_script() -> str:
    """The script that stands after the page's own, the same for each figure."""
    return here("plates.js")


def _describe(figure: Figure, counts: Counts, plan: Plan) -> dict[str, Any]:
    """Plain JSON types, as of one plate, and `plates` besides."""
    mirrored = plan.printing.mirrored
    round_of = {plate: each.number for each in plan.rounds for plate in each.plates}
    groups = equal_plates(figure.pieces)
    group_of = {number: group for group in groups for number in group}
    cells, tops = _stacked([figure.pieces[group[0]].plate.cells for group in groups])
    top_of = {group[0]: top for group, top in zip(groups, tops, strict=True)}
    plates, tiles = [], []
    for number, group in sorted(group_of.items()):
        cut = plan.cutter(figure.pieces[group[0]].plate)
        top = top_of[group[0]]
        plates.append(_plate(figure, number, group, top, cut.map_size, mirrored))
        tiles += [
            [
                f"{number + 1} {tile.name}" if len(cut.tiles) > 1 else str(number + 1),
                tile.x, top + tile.y, tile.width, tile.height, tile.column, tile.row,
                round_of.get(number, 0), number,
            ]
            for tile in cut.tiles
        ]  # fmt: skip
    return {
        "name": figure.spec.title,
        "size": [cells.shape[1], cells.shape[0]],
        **describe_colours(counts),
        "map": [1, 1],
        "tiles": tiles,
        "plates": plates,
        "mirrored": False,  # the cells are as they lie
        "faceDown": mirrored,
        "cells": describe_cells(cells, len(figure.spec.palette), counts),
    }


def _stacked(plates: list[Cells]) -> tuple[Cells, list[int]]:
    """All below each other in one grid (rows, widest), -1 beside them; the first row of each."""
    wide = max(cells.shape[1] for cells in plates)
    tops = np.cumsum([0, *(len(cells) for cells in plates)]).tolist()
    padded = [
        np.pad(cells, ((0, 0), (0, wide - cells.shape[1])), constant_values=-1) for cells in plates
    ]
    return np.concatenate(padded), tops[:-1]


def _plate(
    figure: Figure,
    number: int,
    group: tuple[int, ...],
    top: int,
    map_size: tuple[int, int],
    mirrored: bool,
) -> dict[str, Any]:
    """One plate; equal ones are laid as the first of them is."""
    piece, first = figure.pieces[number], figure.pieces[group[0]]
    width, height = first.plate.size
    is_turned = not np.array_equal(piece.plate.cells, first.plate.cells)
    return {
        "number": str(number + 1),
        "title": piece.title,
        "press": f"{piece.thickness_mm:g}",
        "side": "" if piece.role == "strip" else f", {seen_words(mirrored)}",
        "top": top,
        "width": width,
        "height": height,
        "map": list(map_size),
        "group": list(group),
        "joints": [
            [joint.letter, "" if is_turned else side.edge, str(other.piece + 1)]
            for joint in figure.joints
            for side, other in (joint.sides, joint.sides[::-1])
            if side.piece == number
        ],
    }


def _key(figure: Figure) -> str:
    """A short digest of all plates, in their order."""
    each = ":".join(cells_digest(piece.plate.cells) for piece in figure.pieces)
    return hashlib.sha256(each.encode()).hexdigest()[:20]
