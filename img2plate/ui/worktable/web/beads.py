"""What the page asks of the beads: palettes, colours, files, the stock."""

from __future__ import annotations

from typing import Any

from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import FileResponse, JSONResponse, Response
from starlette.routing import Route

from img2plate.ui.worktable.beads import beads_of, own_palettes
from img2plate.ui.worktable.table import Table
from img2plate.ui.worktable.web.bodies import read_bytes, read_json, version
from img2plate.ui.worktable.web.handlers import Worktable
from img2plate.ui.worktable.wishes.beads import (
    ENDINGS,
    STOCK_NAME,
    check_file,
    stock_file,
    with_owned,
    with_palette,
    with_proof,
)
from img2plate.ui.worktable.wishes.files import MOST_BYTES
from img2plate.ui.worktable.wishes.settings import palette_in


def routes(here: Worktable) -> list[Route]:
    """The addresses of the place."""
    table = here.table
    project = "/api/projects/{project}"

    def about(request: Request) -> Response:
        return JSONResponse(_about(table, request.path_params["project"]))

    async def keep(request: Request) -> Response:
        field = request.path_params["field"]
        if field not in ENDINGS:
            raise KeyError(field)
        data = await read_bytes(request, MOST_BYTES)
        name, project_id = request.query_params.get("name", ""), request.path_params["project"]
        return JSONResponse(
            {"word": await run_in_threadpool(_keep, table, project_id, field, name, data)}
        )

    def file(request: Request) -> Response:
        """A kept file, to be saved: never shown as a page of ours."""
        word = "{digest}/{name}".format_map(request.path_params)
        files = table.projects.files(request.path_params["project"])
        if word not in files.words():
            raise KeyError(word)
        path = files.path(word, "")
        return FileResponse(path, filename=path.name)

    async def change(request: Request) -> Response:
        project_id = request.path_params["project"]
        words = await read_json(request)
        what = request.url.path.rpartition("/")[2]
        await run_in_threadpool(_change, table, project_id, what, words)
        return JSONResponse(await run_in_threadpool(table.state, project_id))

    return [
        Route(f"{project}/beads", about),
        Route(f"{project}/files/{{field}}", keep, methods=["POST"]),
        Route(f"{project}/files/{{digest}}/{{name}}", file),
        *(
            Route(f"{project}/{what}", change, methods=["POST"])
            for what in ("palette", "take", "owned")
        ),
    ]


def _about(table: Table, project_id: str) -> dict[str, Any]:
    """What the place shows."""
    project, files = table.projects.load(project_id), table.projects.files(project_id)
    hand = table.shown.state(project)["hand"]
    about = beads_of(project.settings, files, hand["facts"])
    return about | {"version": project.version, "key": hand["key"], "own": own_palettes(files)}


def _keep(table: Table, project_id: str, field: str, name: str, data: bytes) -> str:
    """Keep a file that can be read; returns the word for it. Raises Img2PlateError."""
    files = table.projects.files(project_id)
    known = files.words()
    word = files.keep(name, data)
    try:
        with files.plainly():
            check_file(field, files.path(word, field))
    except BaseException:
        if word not in known:
            files.drop(word)
        raise
    return word


def _change(table: Table, project_id: str, what: str, words: dict[str, Any]) -> None:
    """Another palette, a proof that is taken, or another stock."""
    seen = version(words)
    if what == "palette":
        name = str(words.get("palette", ""))
        table.change(project_id, seen, lambda old, files: with_palette(old, name, files))
        return
    if what == "take":
        proof = words.get("settings")
        if not isinstance(proof, dict):
            raise HTTPException(400, "settings are missing")
        table.change(project_id, seen, lambda old, files: with_proof(old, proof, files))
        return
    owned, word = words.get("owned"), str(words.get("word", ""))
    if isinstance(owned, dict):
        files = table.projects.files(project_id)
        settings = table.projects.load(project_id).settings
        data = stock_file(owned, palette_in(settings, files))
        word = files.keep(STOCK_NAME, data) if data else ""
    table.change(project_id, seen, lambda old, _files: with_owned(old, word))
