"""The addresses of the page: each handler reads a request, asks the table, and answers."""

from __future__ import annotations

import contextlib
from collections.abc import AsyncIterator, Awaitable, Callable
from pathlib import Path
from typing import Any

from starlette.applications import Starlette
from starlette.middleware import Middleware
from starlette.requests import Request
from starlette.responses import FileResponse, JSONResponse, Response
from starlette.routing import Mount, Route
from starlette.staticfiles import StaticFiles

from img2plate.base.errors import Img2PlateError
from img2plate.base.files import explain
from img2plate.typeset.look import font_file
from img2plate.ui.worktable.shown import NOT_MADE
from img2plate.ui.worktable.store.projects import NotMadeError, StaleError
from img2plate.ui.worktable.web import (
    beads,
    boards,
    card,
    colours,
    figures,
    hand,
    letters,
    look,
    picture,
    rebuild,
    share,
    sheets,
    together,
)
from img2plate.ui.worktable.web.guard import Guard
from img2plate.ui.worktable.web.handlers import KEPT, Worktable
from img2plate.ui.worktable.web.pages import STATIC
from img2plate.ui.worktable.wishes.settings import error_words

ELSEWHERE = "this project was changed in another tab"


def build(
    folder: Path, *, port: int, token: str, warm: bool = True, shared_at: str = ""
) -> tuple[Starlette, Worktable]:
    """The application for a folder of projects, and its handlers. Raises OutputError.

    shared_at: what links for phones begin with; empty when nothing is shared.
    """
    here = Worktable(folder, warm=warm, shared_at=shared_at)

    @contextlib.asynccontextmanager
    async def life(_app: Starlette) -> AsyncIterator[None]:
        yield
        here.hub.close()
        here.table.end()

    project = "/api/projects/{project}"
    routes = [
        Route("/", here.page),
        Route("/p/{project}", here.page),
        Route("/api/start", here.start),
        Route("/api/form", here.form),
        Route("/api/samples/{name}", here.sample, methods=["POST"]),
        Route("/samples/{name}", here.sample_picture),
        Route("/api/projects", here.upload, methods=["POST"]),
        Route(project, here.state),
        Route(project, here.remove, methods=["DELETE"]),
        Route(f"{project}/events", here.events),
        Route(f"{project}/picture.png", here.picture),
        Route(f"{project}/plates/{{key}}/so-far.png", here.so_far),
        Route(f"{project}/plates/{{key}}/{{name}}", here.plate_picture),
        *sheets.routes(here),
        Route(f"{project}/packs/{{key}}/{{name}}", here.pack_file),
        *picture.routes(here),
        *beads.routes(here),
        *card.routes(here),
        *boards.routes(here),
        *hand.routes(here),
        *letters.routes(here),
        *look.routes(here),
        *share.routes(here),
        *colours.routes(here),
        *rebuild.routes(here),
        *together.routes(here),
        *figures.routes(here),
        Route(f"{project}/{{what}}", here.change, methods=["POST"]),
        Route("/fonts/regular.ttf", lambda _: FileResponse(font_file(), headers=KEPT)),
        Route("/fonts/bold.ttf", lambda _: FileResponse(font_file(bold=True), headers=KEPT)),
        Mount("/static", StaticFiles(directory=STATIC)),
    ]
    handlers: dict[Any, Callable[[Request, Any], Awaitable[Response]]] = {
        Img2PlateError: _told,
        StaleError: _stale,
        NotMadeError: _not_made,
        KeyError: _not_there,
        OSError: _no_place,
    }
    guard = Middleware(Guard, port=port, token=token)
    return Starlette(
        routes=routes, middleware=[guard], exception_handlers=handlers, lifespan=life
    ), here


async def _told(_request: Request, error: Img2PlateError) -> Response:
    return JSONResponse({"error": error_words(error)}, 400)


async def _stale(_request: Request, _error: StaleError) -> Response:
    return JSONResponse({"error": {"field": "", "words": ELSEWHERE}}, 409)


async def _not_made(request: Request, _error: NotMadeError) -> Response:
    """Who only looks gets nothing yet; who changes is told."""
    if request.method == "GET":
        return JSONResponse(None)
    return JSONResponse({"error": {"field": "", "words": NOT_MADE}}, 400)


async def _not_there(_request: Request, _error: KeyError) -> Response:
    return JSONResponse({"error": {"field": "", "words": "there is no such thing here"}}, 404)


async def _no_place(_request: Request, error: OSError) -> Response:
    return JSONResponse({"error": {"field": "", "words": f"cannot write: {explain(error)}"}}, 507)
