"""Figures: the page of one, its text and files, its drawing, a face by hand, its pack."""

from __future__ import annotations

import base64
from typing import Any

from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import (
    FileResponse,
    JSONResponse,
    Response,
    StreamingResponse,
)
from starlette.routing import Route

from img2plate.base.errors import FigureError
from img2plate.typeset.figure.follow import plates_script
from img2plate.ui.worktable.figure_faces import FigureFaces
from img2plate.ui.worktable.figures import MOST_FILE_BYTES
from img2plate.ui.worktable.store.samples import FIGURES, figure_picture
from img2plate.ui.worktable.web.bodies import read_bytes, read_json, version
from img2plate.ui.worktable.web.hand import MOST_STROKE, beads, strewn_on
from img2plate.ui.worktable.web.handlers import KEPT, Worktable
from img2plate.ui.worktable.web.letters import answer as words_in_beads
from img2plate.ui.worktable.web.pages import page as html_page
from img2plate.ui.worktable.web.sheets import follow_policy
from img2plate.ui.worktable.wishes.figure import MOST_TEXT

MOST_WORDS = 4 * MOST_TEXT
"""Bytes of a text as JSON, in which a letter may take several."""


def routes(here: Worktable) -> list[Route]:
    """The addresses of figures."""
    figures = here.figures
    faces = FigureFaces(figures)

    def page(request: Request) -> Response:
        """The page of a figure; the first one where there is no such."""
        try:
            figures.projects.home(request.path_params["project"])
        except KeyError:
            return html_page("start", 404)
        return html_page("figure")

    async def begin(request: Request) -> Response:
        """A description as the body: a new figure."""
        body = await read_bytes(request, MOST_TEXT)
        name = request.query_params.get("name", "")
        try:
            text = body.decode("utf-8-sig")
        except UnicodeDecodeError:
            raise FigureError(f"{name[:100]}: is not TOML: not a text in UTF-8") from None
        return _begun(await run_in_threadpool(figures.begin, name, text))

    async def begin_box(request: Request) -> Response:
        """A box of a size."""
        words = await read_json(request)
        return _begun(await run_in_threadpool(figures.begin_box, words.get("size")))

    def begin_sample(request: Request) -> Response:
        """One of ours."""
        return _begun(figures.begin_sample(request.path_params["name"]))

    def sample_picture(request: Request) -> Response:
        """What one of ours looks like."""
        name = request.path_params["name"]
        if name not in FIGURES:
            raise KeyError(name)
        return FileResponse(figure_picture(name), headers=KEPT)

    def state(request: Request) -> Response:
        """A figure."""
        return JSONResponse(figures.state(request.path_params["project"]))

    def remove(request: Request) -> Response:
        """Remove a figure."""
        figures.remove(request.path_params["project"])
        return Response(status_code=204)

    async def events(request: Request) -> Response:
        """How far the work on a figure is."""
        project_id = request.path_params["project"]
        await run_in_threadpool(figures.projects.home, project_id)
        return StreamingResponse(here.hub.listen(project_id), media_type="text/event-stream")

    async def add(request: Request) -> Response:
        """A file that the description names."""
        body = await read_bytes(request, MOST_FILE_BYTES)
        name = request.query_params.get("name", "")
        await run_in_threadpool(figures.add, request.path_params["project"], name, body)
        return await run_in_threadpool(state, request)

    async def change(request: Request) -> Response:
        """Something asked of a figure."""
        words = await read_json(request, MOST_WORDS)
        await run_in_threadpool(_change, here, request.path_params, words)
        return await run_in_threadpool(state, request)

    def facts(request: Request) -> Response:
        """What is drawn of it."""
        path = figures.built.facts_path(request.path_params["project"], request.path_params["key"])
        return FileResponse(path, headers=KEPT, media_type="application/json")

    def picture(request: Request) -> Response:
        """A picture of it, as the pack has it."""
        where = request.path_params
        path = figures.built.picture(where["project"], where["key"], f"{where['name']}.png")
        return FileResponse(path, headers=KEPT)

    def description(request: Request) -> Response:
        """Its text and pictures, to be saved."""
        path = figures.description(request.path_params["project"])
        return FileResponse(path, filename=path.name)

    def pack_file(request: Request) -> Response:
        """A file of a pack, to be saved."""
        where = request.path_params
        path = figures.built.pack_file(where["project"], where["key"], where["name"])
        return FileResponse(path, filename=path.name)

    def follow(request: Request) -> Response:
        """The follow-along page of a pack, under a policy of its own as that of a plate."""
        where = request.path_params
        path = figures.built.pack_file(where["project"], where["key"], "follow.html")
        policy = follow_policy(plates_script())
        return FileResponse(path, headers={"Content-Security-Policy": policy})

    def cells(request: Request) -> Response:
        """A face, cell by cell, as the place "By hand" asks for a plate."""
        key, plate = faces.face(*_face(request))
        return JSONResponse({
            "key": key, "size": list(plate.size), "beads": beads(plate),
            "cells": base64.b64encode(plate.cells.astype("<i2").tobytes()).decode(),
            "owned": None, "spare_percent": 0, "lost": {"size": list(plate.size), "cells": {}},
        })  # fmt: skip

    def look(_request: Request) -> Response:
        """A face has no look error: no picture of another resolution stands beside it."""
        return JSONResponse(None)

    async def touch(request: Request) -> Response:
        """A stroke on a face."""
        words = await read_json(request, MOST_STROKE)
        stroke = words.get("cells")
        if not isinstance(stroke, dict):
            raise HTTPException(400, "cells are missing")
        project_id, part, face = _face(request)
        seen = version(words)
        await run_in_threadpool(faces.touch, project_id, seen, part, face, stroke)
        return await run_in_threadpool(state, request)

    async def strew(request: Request) -> Response:
        """Companion beads over an area of a face, only looked at."""
        words = await read_json(request, MOST_STROKE)
        _, plate = await run_in_threadpool(faces.face, *_face(request))
        return JSONResponse(await run_in_threadpool(strewn_on, plate, words))

    async def letters(request: Request) -> Response:
        """Words as beads, for a face."""
        words = await read_json(request)
        _, plate = await run_in_threadpool(faces.face, *_face(request))
        return await run_in_threadpool(words_in_beads, plate, words)

    figure = "/api/figures/{project}"
    face = f"{figure}/faces/{{part:int}}/{{face}}"
    return [
        Route("/f/{project}", page),
        Route("/f/{project}/follow/{key}", follow),
        Route("/figures/{name}.png", sample_picture),
        Route("/api/figures", begin, methods=["POST"]),
        Route("/api/figures/box", begin_box, methods=["POST"]),
        Route("/api/figures/samples/{name}", begin_sample, methods=["POST"]),
        Route(figure, state),
        Route(figure, remove, methods=["DELETE"]),
        Route(f"{figure}/events", events),
        Route(f"{figure}/files", add, methods=["POST"]),
        Route(f"{figure}/description.zip", description),
        Route(f"{figure}/made/{{key}}/figure.json", facts),
        Route(f"{figure}/made/{{key}}/{{name}}.png", picture),
        Route(f"{figure}/packs/{{key}}/{{name}}", pack_file),
        Route(f"{face}/cells", cells),
        Route(f"{face}/look", look),
        Route(f"{face}/touch", touch, methods=["POST"]),
        Route(f"{face}/strew", strew, methods=["POST"]),
        Route(f"{face}/letters", letters, methods=["POST"]),
        Route(f"{figure}/{{what}}", change, methods=["POST"]),
    ]


def _begun(project_id: str) -> Response:
    return JSONResponse({"id": project_id}, 201)


def _face(request: Request) -> tuple[str, int, str]:
    """Figure, number of the part, and face that a request means."""
    where = request.path_params
    return where["project"], where["part"], where["face"]


def _change(here: Worktable, where: dict[str, Any], words: dict[str, Any]) -> None:
    """Do what is asked. Raises KeyError for words that make no sense."""
    figures, project_id, what = here.figures, where["project"], where["what"]
    seen = version(words)
    if what == "text":
        if not isinstance(words.get("text"), str):
            raise HTTPException(400, "the text is missing")
        figures.write(project_id, seen, words["text"], joined=words.get("joined") is True)
    elif what == "choose":
        figures.choose(project_id, seen, words)
    elif what == "press":
        figures.press(project_id, seen, words.get("mm"))
    elif what in ("undo", "redo"):
        figures.step(project_id, seen, -1 if what == "undo" else 1)
    elif what == "pack":
        figures.built.write_pack(project_id)
    else:
        raise KeyError(what)
