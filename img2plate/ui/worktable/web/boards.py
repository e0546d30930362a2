"""The place "Boards": where seams lie, for settings that are only being thought of."""

from __future__ import annotations

from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from img2plate.ui.worktable.web.bodies import read_json
from img2plate.ui.worktable.web.handlers import Worktable


def routes(here: Worktable) -> list[Route]:
    """The addresses of this place."""

    async def laid(request: Request) -> Response:
        """Tiles, seams and rounds of a plate that is made, in settings that need not be saved."""
        words = await read_json(request)
        settings = words.get("settings")
        if not isinstance(settings, dict):
            raise HTTPException(400, "settings are missing")
        found = await run_in_threadpool(
            here.table.shown.laid, request.path_params["project"], settings
        )
        return JSONResponse(found)

    return [Route("/api/projects/{project}/boards", laid, methods=["POST"])]
