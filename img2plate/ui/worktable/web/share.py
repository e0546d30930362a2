"""A phone beside the board, seen from the table: begin, the code of the link, end."""

from __future__ import annotations

import io

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from img2plate.ui.worktable.web.bodies import read_json
from img2plate.ui.worktable.web.handlers import Worktable


def routes(here: Worktable) -> list[Route]:
    """The addresses of this part of the place "Sheets"."""
    shares = here.shares

    def about(request: Request) -> Response:
        """Whether the project is shared, and how far each board is."""
        project_id = request.path_params["project"]
        here.table.projects.home(project_id)
        return JSONResponse(shares.about(project_id))

    async def begin(request: Request) -> Response:
        """Make a link for a pack."""
        project_id = request.path_params["project"]
        key = str((await read_json(request)).get("key", ""))
        await run_in_threadpool(shares.begin, project_id, key)
        return await run_in_threadpool(about, request)

    def end(request: Request) -> Response:
        """End it."""
        shares.end(request.path_params["project"])
        return about(request)

    def code(request: Request) -> Response:
        """The link as a QR code. Raises KeyError when there is none."""
        link = shares.about(request.path_params["project"])["link"]
        if not link:
            raise KeyError("link")
        return Response(qr_code(link), media_type="image/svg+xml")

    phone = "/api/projects/{project}/phone"
    return [
        Route(phone, about, methods=["GET"]),
        Route(phone, begin, methods=["POST"]),
        Route(phone, end, methods=["DELETE"]),
        Route(f"{phone}/code.svg", code),
    ]


def qr_code(link: str) -> bytes:
    """A link as a QR code (ISO/IEC 18004), an SVG; dark on white in a dark page too."""
    import segno

    out = io.BytesIO()
    segno.make(link, error="m", micro=False).save(out, kind="svg", scale=8, light="white")
    return out.getvalue()
