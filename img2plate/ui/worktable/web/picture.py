"""The picture that was given: its facts, and what a plate of it would take."""

from __future__ import annotations

from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from img2plate.ui.worktable.estimate import estimate
from img2plate.ui.worktable.web.bodies import read_json
from img2plate.ui.worktable.web.handlers import Worktable


def routes(here: Worktable) -> list[Route]:
    """The addresses of this place."""
    table = here.table

    def picture(request: Request) -> Response:
        """The size of the picture as it was given, and whether it is see-through anywhere."""
        return JSONResponse(table.picture(request.path_params["project"]))

    async def estimated(request: Request) -> Response:
        """What a plate of some settings would take; nothing is saved or made."""
        words = await read_json(request)
        settings = words.get("settings")
        if not isinstance(settings, dict):
            raise HTTPException(400, "settings are missing")
        project_id = request.path_params["project"]

        def found() -> Response:
            picture = table.picture(project_id)["size"]
            known = table.shown.known(table.projects.load(project_id))
            files = table.projects.files(project_id)
            with files.plainly():
                return JSONResponse(estimate((picture[0], picture[1]), settings, known, files))

        return await run_in_threadpool(found)

    project = "/api/projects/{project}"
    return [
        Route(f"{project}/picture", picture),
        Route(f"{project}/estimate", estimated, methods=["POST"]),
    ]
