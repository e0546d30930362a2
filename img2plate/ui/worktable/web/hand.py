"""The place "By hand": the cells of the plate in hand, and strokes on it."""

from __future__ import annotations

import base64
from functools import lru_cache
from typing import Any

import numpy as np
from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from img2plate.colour.colour_vision import MACHADO_2009, grey_print, simulate
from img2plate.colour.palette import Palette
from img2plate.colour.spaces import linear2srgb, srgb2hex
from img2plate.pipeline.options import palette_for
from img2plate.typeset.symbols import symbols_for
from img2plate.ui.worktable.table import Table
from img2plate.ui.worktable.web.bodies import read_json, version
from img2plate.ui.worktable.web.handlers import Worktable
from img2plate.ui.worktable.wishes.of_the_pack import plate_key
from img2plate.ui.worktable.wishes.settings import read_settings
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

    project = "/api/projects/{project}"
    return [
        Route(f"{project}/cells", cells),
        Route(f"{project}/touch", touch, methods=["POST"]),
    ]


def cells_in_hand(table: Table, project_id: str) -> dict[str, Any]:
    """The plate in hand: size, all beads of its palette, cells as base64 of int16, rows from top.

    Raises KeyError when it is not made.
    """
    project = table.projects.load(project_id)
    key = plate_key(project.settings)
    folder = table.projects.plate(project_id, key)
    if not (folder / CELLS).is_file():
        raise KeyError(key)
    plate = np.load(folder / CELLS, allow_pickle=False)
    options = read_settings(project.settings, table.projects.files(project_id))
    palette = palette_for(options.palette, options.pack.pitch_mm)
    return {
        "key": key,
        "size": [plate.shape[1], plate.shape[0]],
        "cells": base64.b64encode(plate.astype("<i2").tobytes()).decode(),
        "beads": beads(palette, plate),
    }


def beads(palette: Palette, plate: np.ndarray[Any, Any]) -> list[dict[str, Any]]:
    """All beads of a palette: those used most have the symbols that the sheets give them."""
    counts = np.bincount(plate[plate >= 0], minlength=len(palette))
    by_use = [int(place) for place in np.argsort(-counts, kind="stable")]
    symbols = symbols_for(by_use)
    return [
        {"code": bead.code, "name": bead.name, "hex": bead.hex, "symbol": symbols[place],
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
