"""In the place "By hand": words set in beads, to be laid on the plate."""

from __future__ import annotations

from typing import Any

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from img2plate.base.errors import OptionError
from img2plate.pipeline.letters import place_on
from img2plate.plate.lettering.letter import set_letters
from img2plate.plate.plate import Plate
from img2plate.ui.worktable.table import Table
from img2plate.ui.worktable.web.bodies import read_json
from img2plate.ui.worktable.web.hand import plate_in_hand
from img2plate.ui.worktable.web.handlers import Worktable
from img2plate.ui.worktable.wishes.settings import error_words
from img2plate.ui.worktable.wishes.touched import Touched


def routes(here: Worktable) -> list[Route]:
    """The address of this part."""
    table: Table = here.table

    async def letters(request: Request) -> Response:
        """Words as beads, and the middle of the plate for them."""
        words = await read_json(request)
        plate = await run_in_threadpool(plate_in_hand, table, request.path_params["project"])
        return await run_in_threadpool(answer, plate, words)

    return [Route("/api/projects/{project}/letters", letters, methods=["POST"])]


def answer(plate: Plate, words: dict[str, Any]) -> Response:
    """`letters_on`, or what is `wrong`: no error, as somebody is still writing."""
    try:
        return JSONResponse(letters_on(plate, words))
    except OptionError as error:
        return JSONResponse({"wrong": error_words(error)["words"]})


def letters_on(plate: Plate, words: dict[str, Any]) -> dict[str, Any]:
    """Beads of a `text` of a `height`, as `img2plate letters` sets them, for a plate.

    `size` in beads, `cells` as runs within it, row by row, `at`: column and row, from 0, where they
    are in the middle. Raises OptionError for a letter that no face has, and where they do not fit.
    """
    try:
        height = int(words.get("height", 7))
    except (TypeError, ValueError):
        raise OptionError("is not a number of beads", field="height") from None
    beads = set_letters(str(words.get("text", "")), height)
    column, row = place_on(plate, beads, None)
    high, wide = beads.shape
    runs = Touched((wide, high), ("",), beads.astype("int16").ravel()).runs()
    return {"size": [wide, high], "cells": runs[""], "at": [column, row]}
