"""The place "Colours": rare colours merged, the plate in other colours, and in few."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import FileResponse, JSONResponse, Response
from starlette.routing import Route

from img2plate.base.errors import OptionError
from img2plate.plate.limits.rare import exchanged, merge_rare
from img2plate.ui.worktable.store.projects import NotMadeError
from img2plate.ui.worktable.table import Table
from img2plate.ui.worktable.web.bodies import read_json, version
from img2plate.ui.worktable.web.hand import cells_in_hand, plate_in_hand
from img2plate.ui.worktable.web.handlers import KEPT, Worktable
from img2plate.ui.worktable.wishes.of_the_pack import plate_key, plate_only
from img2plate.ui.worktable.wishes.proofs import first_look
from img2plate.ui.worktable.wishes.settings import checked, key_of
from img2plate.ui.worktable.wishes.touched import stroke_to, untouched
from img2plate.ui.worktable.work.colours import ABOUT
from img2plate.ui.worktable.work.jobs import OPEN, Job
from img2plate.ui.worktable.work.kept import PLATE

ORDER = 40
"""After proofs: nobody waits for these with a plate in hand."""
FEW = (6, 8, 12, 16, 24, 0)
"""Numbers of colours that are shown beside each other; 0 is any number."""
MOST_COLOURS = 1000


def routes(here: Worktable) -> list[Route]:
    """The addresses of this place."""
    table = here.table

    async def answer(what: Callable[..., Any], request: Request, *words: Any) -> Response:
        """What is found of the plate in hand; null while that is being made."""
        project = await run_in_threadpool(table.projects.load, request.path_params["project"])
        if not table.shown.made(project):
            return JSONResponse(None)
        return JSONResponse(await run_in_threadpool(what, table, project.id, *words))

    async def rare(request: Request) -> Response:
        """What would become of rare colours."""
        fewer = _number(request.query_params.get("fewer"))
        return await answer(merging, request, fewer, "cells" in request.query_params)

    async def merge(request: Request) -> Response:
        """Merge them, as a stroke by hand."""
        project_id, words = request.path_params["project"], await read_json(request)
        await run_in_threadpool(
            take_merged, table, project_id, version(words), _number(words.get("fewer"))
        )
        return JSONResponse(await run_in_threadpool(table.state, project_id))

    async def colourways(request: Request) -> Response:
        """The plate in other colours, or how far they are."""
        return await answer(ways, request)

    async def recolour(request: Request) -> Response:
        """Take one of them, as a stroke by hand."""
        project_id, words = request.path_params["project"], await read_json(request)
        code = str(words.get("code"))
        await run_in_threadpool(take_way, table, project_id, version(words), code)
        return JSONResponse(await run_in_threadpool(table.state, project_id))

    async def few(request: Request) -> Response:
        """Plates of few colours with their look errors, or how far they are."""
        more = request.query_params.get("more")
        numbers = {*FEW, *([_number(more)] if more else [])}
        return await answer(fewer, request, numbers)

    def picture(request: Request) -> Response:
        """One of the small pictures."""
        asked = request.path_params
        path = table.projects.colours(asked["project"], asked["key"]) / f"{asked['number']}.png"
        if not path.is_file():
            raise KeyError(asked["number"])
        return FileResponse(path, headers=KEPT)

    project = "/api/projects/{project}"
    return [
        Route(f"{project}/rare", rare),
        Route(f"{project}/merge", merge, methods=["POST"]),
        Route(f"{project}/colourways", colourways),
        Route(f"{project}/recolour", recolour, methods=["POST"]),
        Route(f"{project}/few", few),
        Route(f"{project}/colours/{{key}}/{{number:int}}.png", picture),
    ]


def _number(word: Any) -> int:
    """A number of beads or colours. Raises HTTPException for anything else."""
    try:
        number = int(word)
    except (TypeError, ValueError):
        raise HTTPException(400, "a number is missing") from None
    return min(max(number, 0), 1_000_000)


def merging(table: Table, project_id: str, fewer: int, cells: bool = False) -> dict[str, Any]:
    """What merging would change: from, to and beads of each rare colour; perhaps also the cells.

    Raises NotMadeError.
    """
    plate = plate_in_hand(table, project_id)
    counts, beads = plate.counts(), plate.palette.beads
    changed = merge_rare(plate, fewer).changed
    return {
        "colours": int((counts > 0).sum()) - len(changed),
        "changed": [
            {"from": beads[old].code, "to": beads[new].code, "beads": int(counts[old])}
            for old, new in changed.items()
        ],
        "cells": cells_in_hand(table, project_id) if cells else None,
    }


def take_merged(table: Table, project_id: str, version: int, fewer: int) -> None:
    """Merge rare colours of the plate in hand. Raises StaleError, OptionError, NotMadeError."""
    plate = plate_in_hand(table, project_id)
    merged = merge_rare(plate, fewer)
    if not merged.changed:
        raise OptionError(f"no colour has fewer than {fewer} beads")
    table.touch(project_id, version, stroke_to(plate, merged.plate.cells))


def ways(table: Table, project_id: str) -> dict[str, Any]:
    """Colourways of the plate in hand, begun when they are not there. Raises NotMadeError."""
    hand = plate_key(table.projects.load(project_id).settings)
    document = table.projects.plate(project_id, hand) / PLATE
    if not document.is_file():
        raise NotMadeError(hand)
    key = key_of({"colourways of": hand})
    return made_of(table, project_id, key, "make_colourways", (document,))


def take_way(table: Table, project_id: str, version: int, code: str) -> None:
    """Colour the plate in hand as a colourway. Raises StaleError, KeyError, OptionError."""
    way = {each["code"]: each for each in ways(table, project_id)["about"]}[code]
    plate = plate_in_hand(table, project_id)
    places = {bead.code: place for place, bead in enumerate(plate.palette.beads)}
    changed = {places[old]: places[new] for old, new in way["changed"].items()}
    table.touch(project_id, version, stroke_to(plate, exchanged(plate, changed)))


def fewer(table: Table, project_id: str, numbers: set[int]) -> dict[str, Any]:
    """The picture in so many colours, flat, each with its look error; begun when not there."""
    project = table.projects.load(project_id)
    files = table.projects.files(project_id)
    flat = first_look(plate_only(untouched(project.settings)))
    most = len(plate_in_hand(table, project_id).palette)
    numbers = {number for number in numbers if number < most}
    found = []
    for number in sorted(numbers, key=lambda number: number or MOST_COLOURS):
        others = {name: value for name, value in flat.items() if name != "colours"}
        wanted = checked({**others, "colours": str(number)} if number else others, files)
        key = key_of({"few of": "", **wanted})
        arguments = table.projects.source(project), wanted, files
        made = made_of(table, project_id, key, "make_few", arguments)
        found.append({"most": number, **made})
    return {"few": found, "most": most}


def made_of(
    table: Table, project_id: str, key: str, task: str, arguments: tuple[Any, ...]
) -> dict[str, Any]:
    """What a task wrote, begun when it is not there: `key`, `state`, and `about` when done."""
    folder = table.projects.colours(project_id, key)
    if about := _read(folder / ABOUT):
        return {"key": key, "state": "done", "about": about}
    job = table.jobs.find(project_id, key)
    if job is not None and job.state == "done":  # its folder was tidied away
        table.jobs.forget(project_id, key)
    if job is None or job.state not in (*OPEN, "failed"):
        job = table.jobs.start(Job(project_id, key, task, (*arguments, folder), order=ORDER))
    return job.as_json()


def _read(path: Path) -> Any:
    """A file's JSON; None without it."""
    try:
        return json.loads(path.read_text(encoding="utf-8"))
    except OSError:
        return None
