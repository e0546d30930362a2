"""What the page asks of projects: each handler reads a request, asks the table, and answers."""

from __future__ import annotations

import shutil
from pathlib import Path
from typing import Any

from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import FileResponse, JSONResponse, Response, StreamingResponse

from img2plate.ui.worktable.figures import Figures
from img2plate.ui.worktable.shares import Shares
from img2plate.ui.worktable.store.projects import Project
from img2plate.ui.worktable.store.samples import FIGURES, SAMPLES, samples_folder
from img2plate.ui.worktable.table import Table
from img2plate.ui.worktable.web.bodies import MOST_BYTES, read_json, receive, version
from img2plate.ui.worktable.web.hub import Hub
from img2plate.ui.worktable.web.pages import page
from img2plate.ui.worktable.wishes.form import form, palettes
from img2plate.ui.worktable.work.kept import FAR, NEAR, PLATE

KEPT = {"Cache-Control": "private, max-age=86400"}
"""What never changes under its address."""


class Worktable:
    """The handlers, and what they ask."""

    def __init__(self, folder: Path, *, warm: bool = True, shared_at: str = "") -> None:
        """Open the table on a folder of projects. Raises OutputError.

        shared_at: what links for phones begin with; empty when nothing is shared.
        """
        self.hub = Hub(self._nobody)
        self.table = Table(folder, self.hub.tell, warm=warm)
        self.figures = Figures(self.table, self.hub.tell)
        self.shares = Shares(self.table, self.hub.tell, shared_at)

    def _nobody(self, project_id: str) -> None:
        self.table.nobody_looks(project_id)
        self.shares.end(project_id)

    def page(self, request: Request) -> Response:
        """The first page, or that of a project; the first one too where there is no such."""
        name, status = "start", 200
        if project_id := request.path_params.get("project"):
            try:
                self.table.projects.home(project_id)
                name = "project"
            except KeyError:
                status = 404
        return page(name, status)

    def start(self, _request: Request) -> Response:
        """What the first page shows."""
        about = {
            "samples": list(SAMPLES), "projects": self.table.listed(), "most": MOST_BYTES,
            "figure_samples": FIGURES, "figures": self.figures.listed(),
        }  # fmt: skip
        return JSONResponse(about)

    def form(self, _request: Request) -> Response:
        """All settings, and the palettes."""
        return JSONResponse({"fields": form(), "palettes": palettes()})

    async def upload(self, request: Request) -> Response:
        """A picture as the body: a new project."""
        project = await run_in_threadpool(self.table.begin, request.query_params.get("name", ""))
        try:
            await receive(request, self.table.projects.source(project))
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
        return FileResponse(samples_folder() / name, headers=KEPT)

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
        words = await read_json(request)
        await run_in_threadpool(self._change, project_id, what, words)
        return await run_in_threadpool(self._state, request)

    def _change(self, project_id: str, what: str, words: dict[str, Any]) -> None:
        """Do it. Raises KeyError for words that make no sense."""
        settings = words.get("settings")
        if what in ("settings", "again"):
            if not isinstance(settings, dict):
                raise HTTPException(400, "settings are missing")
            if what == "again":
                self.table.again(project_id, settings, yes=words.get("yes") is True)
            else:
                self.table.choose(project_id, version(words), settings)
        elif what in ("undo", "redo"):
            self.table.step(project_id, version(words), -1 if what == "undo" else 1)
        elif what == "stop":
            key = words.get("key")
            self.table.stop(project_id, {str(key)} if key else None)
        elif what == "pack":
            self.table.write_pack(project_id)
        else:
            raise KeyError(what)

    def remove(self, request: Request) -> Response:
        """Remove a project."""
        project_id = request.path_params["project"]
        self.table.remove(project_id)
        self.shares.end(project_id)
        return Response(status_code=204)

    async def events(self, request: Request) -> Response:
        """How far the work on a project is, as it goes on."""
        project_id = request.path_params["project"]
        await run_in_threadpool(self.table.projects.home, project_id)
        return StreamingResponse(self.hub.listen(project_id), media_type="text/event-stream")

    def picture(self, request: Request) -> Response:
        """The picture that was given, small."""
        home = self.table.projects.home(request.path_params["project"])
        return FileResponse(home / "picture.png", headers=KEPT)

    def so_far(self, request: Request) -> Response:
        """A picture of a plate that is still searched for; of the plate when it is made since.

        Nothing when the search was stopped since: a browser would note an error on its console.
        """
        project_id, key = request.path_params["project"], request.path_params["key"]
        made = self.table.projects.plate(project_id, key) / NEAR
        if made.is_file():
            return FileResponse(made)
        try:
            return Response(self.table.so_far(project_id, key), media_type="image/png")
        except KeyError:
            return Response(status_code=204)

    def plate_picture(self, request: Request) -> Response:
        """A picture of a plate."""
        project_id, key = request.path_params["project"], request.path_params["key"]
        name = request.path_params["name"]
        path = self.table.projects.plate(project_id, key) / name
        if name not in (NEAR, FAR, PLATE) or not path.is_file():
            raise KeyError(name)
        return FileResponse(path, headers=KEPT)

    def pack_file(self, request: Request) -> Response:
        """A file of a pack, to be saved: never shown as a page of ours."""
        project_id, key = request.path_params["project"], request.path_params["key"]
        path = self.table.pack_file(project_id, key, request.path_params["name"])
        return FileResponse(path, filename=path.name)
