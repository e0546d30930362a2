"""The addresses of the page: each handler reads a request, asks the table, and answers."""

from __future__ import annotations

import contextlib
import shutil
from collections.abc import AsyncIterator, Awaitable, Callable
from pathlib import Path
from typing import Any

from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.middleware import Middleware
from starlette.requests import ClientDisconnect, Request
from starlette.responses import FileResponse, JSONResponse, Response, StreamingResponse
from starlette.routing import Mount, Route
from starlette.staticfiles import StaticFiles

from img2plate.base.errors import Img2PlateError, PictureError
from img2plate.base.files import explain
from img2plate.typeset.look import font_file
from img2plate.ui.worktable.guard import Guard
from img2plate.ui.worktable.hub import Hub
from img2plate.ui.worktable.projects import Project, StaleError
from img2plate.ui.worktable.samples import SAMPLES, samples_folder
from img2plate.ui.worktable.settings import error_words, form, palettes
from img2plate.ui.worktable.table import Table
from img2plate.ui.worktable.tasks import FAR, NEAR, PLATE

STATIC = Path(__file__).parent / "static"
MOST_BYTES = 64 << 20
"""Of an uploaded picture."""
MOST_WORDS = 64 << 10
"""Bytes of any other request."""
ELSEWHERE = "this project was changed in another tab"
_KEPT = {"Cache-Control": "private, max-age=86400"}
"""What never changes under its address."""


class Worktable:
    """The handlers, and what they ask."""

    def __init__(self, folder: Path, *, warm: bool = True) -> None:
        """Open the table on a folder of projects. Raises OutputError."""
        self.hub = Hub(self._nobody)
        self.table = Table(folder, self.hub.tell, warm=warm)

    def _nobody(self, project_id: str) -> None:
        self.table.nobody_looks(project_id)

    def page(self, request: Request) -> Response:
        """The first page, or that of a project; the first one too where there is no such."""
        name, status = "start.html", 200
        if project_id := request.path_params.get("project"):
            try:
                self.table.projects.home(project_id)
                name = "project.html"
            except KeyError:
                status = 404
        return FileResponse(STATIC / name, status, headers={"Cache-Control": "no-store"})

    def start(self, _request: Request) -> Response:
        """What the first page shows."""
        about = {"samples": list(SAMPLES), "projects": self.table.listed(), "most": MOST_BYTES}
        return JSONResponse(about)

    def form(self, _request: Request) -> Response:
        """All settings, and the palettes."""
        return JSONResponse({"fields": form(), "palettes": palettes()})

    async def upload(self, request: Request) -> Response:
        """A picture as the body: a new project."""
        if int(request.headers.get("content-length") or 0) > MOST_BYTES:
            raise _too_large()
        project = await run_in_threadpool(self.table.begin, request.query_params.get("name", ""))
        try:
            await _receive(request, self.table.projects.source(project))
        except BaseException:
            self.table.projects.drop(project.id)
            raise
        return await self._taken_in(project)

    async def sample(self, request: Request) -> Response:
        """A new project from one of our samples."""
        name = request.path_params["name"]
        if name not in SAMPLES:
            raise KeyError(name)
        project = await run_in_threadpool(self.table.begin, name)
        shutil.copyfile(samples_folder() / name, self.table.projects.source(project))
        return await self._taken_in(project)

    def sample_picture(self, request: Request) -> Response:
        """One of our samples."""
        name = request.path_params["name"]
        if name not in SAMPLES:
            raise KeyError(name)
        return FileResponse(samples_folder() / name, headers=_KEPT)

    async def _taken_in(self, project: Project) -> Response:
        await run_in_threadpool(self.table.take_in, project)
        return JSONResponse({"id": project.id}, 201)

    def state(self, request: Request) -> Response:
        """A project."""
        return self._state(request)

    def _state(self, request: Request) -> Response:
        return JSONResponse(self.table.state(request.path_params["project"]))

    async def change(self, request: Request) -> Response:
        """Something asked of a project: settings, undo, redo, stop, again, pack."""
        project_id, what = request.path_params["project"], request.path_params["what"]
        words = await _json(request)
        await run_in_threadpool(self._change, project_id, what, words)
        return await run_in_threadpool(self._state, request)

    def _change(self, project_id: str, what: str, words: dict[str, Any]) -> None:
        """Do it. Raises KeyError for words that make no sense."""
        settings = words.get("settings")
        if what in ("settings", "again"):
            if not isinstance(settings, dict):
                raise HTTPException(400, "settings are missing")
            if what == "again":
                self.table.again(project_id, settings)
            else:
                self.table.choose(project_id, _version(words), settings)
        elif what in ("undo", "redo"):
            self.table.step(project_id, _version(words), -1 if what == "undo" else 1)
        elif what == "stop":
            key = words.get("key")
            self.table.stop(project_id, {str(key)} if key else None)
        elif what == "pack":
            self.table.write_pack(project_id)
        else:
            raise KeyError(what)

    def remove(self, request: Request) -> Response:
        """Remove a project."""
        self.table.remove(request.path_params["project"])
        return Response(status_code=204)

    async def events(self, request: Request) -> Response:
        """How far the work on a project is, as it goes on."""
        project_id = request.path_params["project"]
        await run_in_threadpool(self.table.projects.home, project_id)
        return StreamingResponse(self.hub.listen(project_id), media_type="text/event-stream")

    def picture(self, request: Request) -> Response:
        """The picture that was given, small."""
        home = self.table.projects.home(request.path_params["project"])
        return FileResponse(home / "picture.png", headers=_KEPT)

    def plate_picture(self, request: Request) -> Response:
        """A picture of a plate."""
        project_id, key = request.path_params["project"], request.path_params["key"]
        name = request.path_params["name"]
        path = self.table.projects.plate(project_id, key) / name
        if name not in (NEAR, FAR, PLATE) or not path.is_file():
            raise KeyError(name)
        return FileResponse(path, headers=_KEPT)

    def pack_file(self, request: Request) -> Response:
        """A file of a pack, to be saved: never shown as a page of ours."""
        project_id, key = request.path_params["project"], request.path_params["key"]
        path = self.table.pack_file(project_id, key, request.path_params["name"])
        return FileResponse(path, filename=path.name)


def build(folder: Path, *, port: int, token: str, warm: bool = True) -> tuple[Starlette, Worktable]:
    """The application for a folder of projects, and its handlers. Raises OutputError."""
    here = Worktable(folder, warm=warm)

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
        Route(f"{project}/plates/{{key}}/{{name}}", here.plate_picture),
        Route(f"{project}/packs/{{key}}/{{name}}", here.pack_file),
        Route(f"{project}/{{what}}", here.change, methods=["POST"]),
        Route("/fonts/regular.ttf", lambda _: FileResponse(font_file(), headers=_KEPT)),
        Route("/fonts/bold.ttf", lambda _: FileResponse(font_file(bold=True), headers=_KEPT)),
        Mount("/static", StaticFiles(directory=STATIC)),
    ]
    handlers: dict[Any, Callable[[Request, Any], Awaitable[Response]]] = {
        Img2PlateError: _told,
        StaleError: _stale,
        KeyError: _not_there,
        OSError: _no_place,
    }
    guard = Middleware(Guard, port=port, token=token)
    return Starlette(
        routes=routes, middleware=[guard], exception_handlers=handlers, lifespan=life
    ), here


async def _receive(request: Request, path: Path) -> None:
    """Write a request's body to a file. Raises HTTPException when it is too large."""
    size = 0
    with path.open("wb") as file:
        try:
            async for part in request.stream():
                size += len(part)
                if size > MOST_BYTES:
                    raise _too_large()
                file.write(part)
        except ClientDisconnect:
            raise PictureError("the picture did not arrive whole") from None


def _too_large() -> HTTPException:
    return HTTPException(413, f"the file is over {MOST_BYTES >> 20} MB; make the picture smaller")


async def _json(request: Request) -> dict[str, Any]:
    """The object that a request carries. Raises HTTPException for anything else."""
    import json

    body = b""
    async for part in request.stream():
        body += part
        if len(body) > MOST_WORDS:
            raise HTTPException(413, "too long")
    try:
        words = json.loads(body or b"{}")
    except ValueError:
        words = None
    if not isinstance(words, dict):
        raise HTTPException(400, "not a JSON object")
    return words


def _version(words: dict[str, Any]) -> int:
    """Which version of a project a page has seen."""
    version = words.get("version")
    if not isinstance(version, int):
        raise HTTPException(400, "the version is missing")
    return version


async def _told(_request: Request, error: Img2PlateError) -> Response:
    return JSONResponse({"error": error_words(error)}, 400)


async def _stale(_request: Request, _error: StaleError) -> Response:
    return JSONResponse({"error": {"field": "", "words": ELSEWHERE}}, 409)


async def _not_there(_request: Request, _error: KeyError) -> Response:
    return JSONResponse({"error": {"field": "", "words": "there is no such thing here"}}, 404)


async def _no_place(_request: Request, error: OSError) -> Response:
    return JSONResponse({"error": {"field": "", "words": f"cannot write: {explain(error)}"}}, 507)
