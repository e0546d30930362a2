"""How the plate in hand looks beside its picture, and what a page follows that by, bead by bead."""

from __future__ import annotations

import json
from typing import Any

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import FileResponse, JSONResponse, Response
from starlette.routing import Route

from img2plate.base.errors import Img2PlateError
from img2plate.ui.worktable.store.projects import NotMadeError
from img2plate.ui.worktable.table import Table
from img2plate.ui.worktable.web.handlers import KEPT, Worktable
from img2plate.ui.worktable.wishes.of_the_pack import plate_key, plate_only
from img2plate.ui.worktable.wishes.settings import key_of
from img2plate.ui.worktable.wishes.touched import untouched
from img2plate.ui.worktable.work.jobs import Job
from img2plate.ui.worktable.work.look import ABOUT, PARTS

ORDER = 5
"""After the plate in hand and its sheets, before proofs."""
MOST_CELLS = 120_000
"""Of a plate whose look error is followed bead by bead."""


def routes(here: Worktable) -> list[Route]:
    """The addresses of it."""
    table = here.table

    async def look(request: Request) -> Response:
        """What the look error is made of; null for a plate too large, or still being made."""
        found = await run_in_threadpool(look_of, table, request.path_params["project"])
        return JSONResponse(found)

    async def now(request: Request) -> Response:
        """The look error of the plate in hand as it is saved."""
        found = await run_in_threadpool(look_now, table, request.path_params["project"])
        return JSONResponse(found)

    def parts(request: Request) -> Response:
        """The arrays that the look error is made of."""
        asked = request.path_params
        path = table.projects.colours(asked["project"], asked["key"]) / PARTS
        if not path.is_file():
            raise KeyError(asked["key"])
        return FileResponse(path, headers=KEPT, media_type="application/octet-stream")

    project = "/api/projects/{project}"
    return [
        Route(f"{project}/look", look),
        Route(f"{project}/look/now", now),
        Route(f"{project}/look/{{key}}", parts),
    ]


def look_of(table: Table, project_id: str) -> dict[str, Any] | None:
    """As `make_look` says, with the key of its parts, for the plate that hands touch."""
    project = table.projects.load(project_id)
    settings = plate_only(untouched(project.settings))
    base = plate_key(settings)
    facts = table.shown.facts(project_id, base)
    if facts is None:
        raise NotMadeError(base)
    if facts["size"][0] * facts["size"][1] > MOST_CELLS:
        return None
    key = key_of({"look of": base})
    folder = table.projects.colours(project_id, key)
    if not (folder / ABOUT).is_file():
        source, files = table.projects.source(project), table.projects.files(project_id)
        plate = table.projects.plate(project_id, base)
        arguments = source, settings, files, plate, folder
        table.jobs.forget(project_id, key)  # it was tidied away since
        _done(table, Job(project_id, key, "make_look", arguments, order=ORDER))
    return {"key": key, **json.loads((folder / ABOUT).read_text(encoding="utf-8"))}


def look_now(table: Table, project_id: str) -> dict[str, Any]:
    """The key of the plate in hand, and its look error."""
    project = table.projects.load(project_id)
    settings = plate_only(untouched(project.settings))
    base, key = plate_key(settings), plate_key(project.settings)
    if not (table.shown.facts(project_id, base) and table.shown.facts(project_id, key)):
        raise NotMadeError(key)
    source, files = table.projects.source(project), table.projects.files(project_id)
    plates = [table.projects.plate(project_id, each) for each in (base, key)]
    arguments = source, settings, files, *plates
    job = Job(project_id, f"look-{key}", "measure_look", arguments, order=ORDER)
    return {"key": key, **_done(table, job)}


def _done(table: Table, job: Job) -> Any:
    """Have something done now, unless it was, and what it gives. Raises Img2PlateError."""
    job = table.jobs.start(job)
    job.finished.wait()
    if job.state != "done":
        raise Img2PlateError(job.error.get("words", "stopped"))
    return job.result
