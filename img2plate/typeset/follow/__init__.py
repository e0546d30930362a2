"""`follow.html`: build a plate bead by bead, on a phone at the table, without a network.

One file: the page, its style, its script, the plate and the typeface. Its content security policy
forbids every request. What is done is kept in the browser, under a digest of the plate.
"""

from __future__ import annotations

import base64
import json
from html import escape
from importlib.resources import files
from pathlib import Path
from typing import Any

import numpy as np

from img2plate.base.arrays import Cells
from img2plate.plate.enlarged import cells_digest
from img2plate.plate.plate import Plate
from img2plate.split.rounds import Round
from img2plate.split.tiles import Split
from img2plate.tally.counts import Counts
from img2plate.typeset import look
from img2plate.typeset.symbols import ink_on, symbols_for


def write_follow_page(
    path: Path,
    plate: Plate,
    split: Split,
    counts: Counts,
    *,
    mirrored: bool = False,
    rounds: tuple[Round, ...] = (),
) -> None:
    """Write the page for a plate, its tiles and its colours (most used first).

    Mirrored when the front lies on the board, so that the page shows what the board shows.
    """
    write_page(path, plate.name, _describe(plate, split, counts, mirrored, rounds), ONE_PLATE)


ONE_PLATE = {
    "{BOARD}": "board", "{HEADS}": "Boards", "{KEYS}": "", "{ABOUT}": "", "{PLATES}": "",
    "{MORE}": "",
}  # fmt: skip
"""What `page.html` says of a plate alone, by its placeholder."""


def write_page(path: Path, name: str, described: dict[str, Any], words: dict[str, str]) -> None:
    """Write a page for what is described, with words for the placeholders of `ONE_PLATE`."""
    # In this order: the plate's name may hold a placeholder's text, so it goes in last.
    parts = words | {
        "/*STYLE*/": follow_style(),
        "/*SCRIPT*/": follow_script(),
        "/*PLATE*/": for_script(described),
        "{TITLE}": escape(name),
    }
    page = here("page.html")
    for mark, text in parts.items():
        page = page.replace(mark, text)
    path.write_text(page, encoding="utf-8", newline="\n")


def follow_style() -> str:
    """The page's style, the same on each."""
    return page_style() + here("page.css")


def follow_script() -> str:
    """The page's script, the same on each."""
    return here("page.js")


def here(name: str) -> str:
    """A file of this folder."""
    return (files("img2plate.typeset.follow") / name).read_text(encoding="utf-8")


def _describe(
    plate: Plate, split: Split, counts: Counts, mirrored: bool, rounds: tuple[Round, ...]
) -> dict[str, Any]:
    """Put all that the page needs into plain JSON types; cells as 16-bit numbers in base64."""
    in_round = {tile: each.number for each in rounds for tile in each.tiles}
    return {
        "name": plate.name,
        "key": cells_digest(plate.cells),
        "size": list(plate.size),
        **describe_colours(counts),
        "map": list(split.map_size),
        "tiles": [
            [t.name, t.x, t.y, t.width, t.height, t.column, t.row, in_round.get(t, 0)]
            for t in split.tiles
        ],
        "mirrored": mirrored,
        "cells": describe_cells(plate.cells, len(plate.palette), counts),
    }


def describe_colours(counts: Counts) -> dict[str, Any]:
    """The colours in their order, and how long a bead takes."""
    symbols = symbols_for([line.index for line in counts.colours])
    return {
        "secondsPerBead": round(3600 * counts.hours / max(counts.beads, 1), 3),
        "colours": [
            [
                line.bead.hex,
                line.bead.code,
                line.bead.name,
                symbols[line.index],
                ink_on(line.bead.hex),
            ]
            for line in counts.colours
        ],
    }


def describe_cells(cells: Cells, colours: int, counts: Counts) -> str:
    """Cells (h, w) of a palette of so many colours: 0 is no bead, 1 the first of `counts`."""
    order = [line.index for line in counts.colours]
    place = np.zeros(colours + 1, dtype="<u2")  # the last one, -1, stands for no bead
    place[order] = np.arange(1, len(order) + 1)
    return base64.b64encode(place[cells].astype("<u2").tobytes()).decode()


def for_script(value: dict[str, Any]) -> str:
    """JSON that cannot end the script element it stands in."""
    return json.dumps(value, ensure_ascii=False, separators=(",", ":")).replace("<", "\\u003c")


def page_style() -> str:
    """The look's colours as CSS variables, and the typeface with its notice."""
    faces = f"/* {look.font_notice()} */" + _face(400) + _face(700)
    return (
        f"{faces}:root{{color-scheme:light dark;{_variables(look.LIGHT)}}}"
        f"@media (prefers-color-scheme:dark){{:root{{{_variables(look.DARK)}}}}}"
    )


def _face(weight: int) -> str:
    """One weight of the typeface, inside the page."""
    data = base64.b64encode(look.font_file(bold=weight > 400).read_bytes()).decode()
    source = f"src:url(data:font/ttf;base64,{data})"
    return f"@font-face{{font-family:Hyperlegible;font-weight:{weight};{source}}}"


def _variables(colours: dict[str, str]) -> str:
    """CSS custom properties."""
    return "".join(f"--{name}:{colour};" for name, colour in colours.items())
