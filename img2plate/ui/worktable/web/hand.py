"""The place "By hand": the cells of the plate in hand, and strokes on it."""

from __future__ import annotations

import base64
from dataclasses import astuple
from functools import lru_cache
from typing import Any

import numpy as np
from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from img2plate.base.errors import OptionError
from img2plate.colour.colour_vision import MACHADO_2009, grey_print, simulate
from img2plate.colour.companions import find_companions
from img2plate.colour.palette import Palette
from img2plate.colour.spaces import linear2srgb, srgb2hex
from img2plate.inventory.stock import read_stock
from img2plate.pipeline.options import palette_for
from img2plate.plate.plate import Plate
from img2plate.plate.scatter import ScatterOptions, parse_wish, scatter
from img2plate.typeset.symbols import symbols_for
from img2plate.ui.worktable.store.projects import NotMadeError
from img2plate.ui.worktable.table import Table
from img2plate.ui.worktable.web.bodies import read_json, version
from img2plate.ui.worktable.web.handlers import Worktable
from img2plate.ui.worktable.wishes.of_the_pack import plate_key
from img2plate.ui.worktable.wishes.settings import TOUCHED, owned_path, read_settings
from img2plate.ui.worktable.wishes.touched import Touched, stroke_to
from img2plate.ui.worktable.work.cut import CELLS

MOST_STROKE = 4 << 20
"""Bytes of one stroke: every cell of a large plate by itself."""


def routes(here: Worktable) -> list[Route]:
    """The addresses of this place."""
    table = here.table

    async def cells(request: Request) -> Response:
        """The plate in hand, cell by cell."""
        found = await run_in_threadpool(cells_in_hand, table, request.path_params["project"])
        return JSONResponse(found)

    async def touch(request: Request) -> Response:
        """A stroke: which bead lies where now."""
        project_id, words = request.path_params["project"], await read_json(request, MOST_STROKE)
        stroke = words.get("cells")
        if not isinstance(stroke, dict):
            raise HTTPException(400, "cells are missing")
        await run_in_threadpool(table.touch, project_id, version(words), stroke)
        return JSONResponse(await run_in_threadpool(table.state, project_id))

    async def strew(request: Request) -> Response:
        """Companion beads over an area, as a stroke that is only looked at."""
        project_id, words = request.path_params["project"], await read_json(request, MOST_STROKE)
        return JSONResponse(await run_in_threadpool(strewn, table, project_id, words))

    project = "/api/projects/{project}"
    return [
        Route(f"{project}/strew", strew, methods=["POST"]),
        Route(f"{project}/cells", cells),
        Route(f"{project}/touch", touch, methods=["POST"]),
    ]


def strewn(table: Table, project_id: str, words: dict[str, Any]) -> dict[str, Any]:
    """Companions over cells of the plate in hand: code to runs of cells, and notes.

    words: `wishes` as `scatter` has them, `light` in degrees or None, `cells` as runs. Of several
    wishes those that cannot be are told in the notes. Raises OptionError, NotMadeError.
    """
    return strewn_on(plate_in_hand(table, project_id), words)


def strewn_on(plate: Plate, words: dict[str, Any]) -> dict[str, Any]:
    """The same on any plate. Raises OptionError."""
    area = Touched.nothing(plate.size).with_stroke({"": words.get("cells")})
    light = None if words.get("light") is None else float(words["light"])
    wishes, notes = _possible([str(w)[:80] for w in words.get("wishes") or [""]], plate.palette)
    where = area.cells.reshape(plate.cells.shape) > 0
    done = scatter(plate, ScatterOptions(tuple(wishes), light), where)
    return {"cells": stroke_to(plate, done.plate.cells), "notes": [*done.notes, *notes]}


def _possible(wishes: list[str], palette: Palette) -> tuple[list[str], list[str]]:
    """The wishes that can be, and what is wrong with the others. Raises OptionError for none."""
    possible, notes = [], []
    for wish in wishes:
        try:
            parse_wish(wish, palette)
            possible.append(wish)
        except OptionError:
            if len(wishes) == 1:
                raise
            notes.append(f"{wish.partition(':')[0]}: nothing strewn; it has no companion")
    if not possible:
        raise OptionError("none of these colours has a companion", field="scatter")
    return possible, notes


def plate_in_hand(table: Table, project_id: str) -> Plate:
    """The plate in hand as it is saved. Raises NotMadeError."""
    return in_hand(table, project_id)[1]


def in_hand(table: Table, project_id: str) -> tuple[str, Plate]:
    """Key and plate of what is in hand, as it is saved. Raises NotMadeError."""
    project = table.projects.load(project_id)
    key = plate_key(project.settings)
    folder = table.projects.plate(project_id, key)
    if not (folder / CELLS).is_file():
        raise NotMadeError(key)
    options = read_settings(project.settings, table.projects.files(project_id))
    palette = palette_for(options.palette, options.pack.pitch_mm)
    return key, Plate(np.load(folder / CELLS, allow_pickle=False), palette)


def cells_in_hand(table: Table, project_id: str) -> dict[str, Any]:
    """The plate in hand: size, all beads of its palette, cells as base64 of int16, rows from top.

    Raises NotMadeError.
    """
    key, plate = in_hand(table, project_id)
    return {
        "key": key,
        "size": list(plate.size),
        "cells": base64.b64encode(plate.cells.astype("<i2").tobytes()).decode(),
        "beads": beads(plate),
        **owned(table, project_id),
        "lost": lost(table, project_id, plate),
    }


def owned(table: Table, project_id: str) -> dict[str, Any]:
    """Beads owned by code, None without a stock, and the percentage of spare ones."""
    settings = table.projects.load(project_id).settings
    files = table.projects.files(project_id)
    path = owned_path(settings, files)
    stock = None if path is None else read_stock(path).counts
    spare = read_settings(settings, files).pack.spare_percent
    return {"owned": stock, "spare_percent": spare}


def lost(table: Table, project_id: str, plate: Plate) -> dict[str, Any]:
    """What was touched by hand and lies no more on the plate: of which size, and which cells."""
    word = table.projects.load(project_id).settings.get(TOUCHED)
    if not word:
        return {"size": list(plate.size), "cells": {}}
    path = table.projects.files(project_id).path(str(word), TOUCHED)
    touched = Touched.read(path.read_bytes())
    return {"size": list(touched.size), "cells": touched.lost_on(plate).runs()}


def beads(plate: Plate) -> list[dict[str, Any]]:
    """All beads of its palette: those used most have the symbols that the sheets give them."""
    palette = plate.palette
    symbols = symbols_for([int(place) for place in np.argsort(-plate.counts(), kind="stable")])
    pairs = find_companions(palette)
    return [
        {"code": bead.code, "name": bead.name, "hex": bead.hex, "symbol": symbols[place],
         "companions": [each for each in astuple(pairs[place]) if each is not None],
         "seen": {name: colours[place] for name, colours in seen(palette).items()}}
        for place, bead in enumerate(palette.beads)
    ]  # fmt: skip


@lru_cache(maxsize=8)
def seen(palette: Palette) -> dict[str, list[str]]:
    """The colours of all beads in grey and for eyes that lack a kind of cone."""
    views = {"grey": grey_print(palette.linear)}
    views |= {name: simulate(palette.linear, name) for name in MACHADO_2009}
    return {
        name: [srgb2hex(tuple(row)) for row in np.rint(linear2srgb(linear) * 255).astype(int)]
        for name, linear in views.items()
    }
