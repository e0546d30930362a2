"""The page of several plates and figures: published together; plates laid on shared boards."""

from __future__ import annotations

from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import FileResponse, JSONResponse, Response
from starlette.routing import Route

from img2plate.base.errors import OptionError
from img2plate.typeset.follow import follow_style
from img2plate.ui.worktable.together import Together
from img2plate.ui.worktable.web.bodies import read_json
from img2plate.ui.worktable.web.guard import POLICY
from img2plate.ui.worktable.web.handlers import Worktable
from img2plate.ui.worktable.web.pages import page
from img2plate.ui.worktable.web.sheets import digest
from img2plate.ui.worktable.wishes.settings import error_words

MOST_WORDS = 2 << 20
"""Bytes of what is asked, with the author's words on each."""
WITH_FRAME = f"{POLICY}; frame-src 'self'"
"""Of this page, which shows what will be published in a frame."""


def routes(here: Worktable) -> list[Route]:
    """The addresses of this page."""
    together = Together(here.table, here.figures)

    def first(_request: Request) -> Response:
        """The page; what is picked is in its address."""
        return page("together", policy=WITH_FRAME)

    def picked(request: Request) -> Response:
        """What is picked."""
        return JSONResponse(together.picked(request.query_params.getlist("p")))

    async def begin(request: Request) -> Response:
        """Have something made of them."""
        words = await read_json(request, MOST_WORDS)
        ids = words.get("picked")
        if not isinstance(ids, list):
            raise HTTPException(400, "nothing is picked")
        asked = request.path_params["what"], [str(each) for each in ids], words
        try:
            return JSONResponse(await run_in_threadpool(together.begin, *asked))
        except OptionError as error:  # as when it fails later: somebody filled in a form
            return JSONResponse({"state": "failed", "error": error_words(error)})

    def state(request: Request) -> Response:
        """How far it is."""
        return JSONResponse(together.state(request.path_params["key"]))

    def shown(request: Request) -> Response:
        """A file of a publication, as a web space would serve it, but that no script runs."""
        path = together.file(request.path_params["key"], request.path_params["path"])
        return FileResponse(path, headers={"Content-Security-Policy": inert_policy()})

    def saved(request: Request) -> Response:
        """A file to be saved."""
        path = together.file(request.path_params["key"], request.path_params["path"])
        return FileResponse(path, filename=path.name)

    return [
        Route("/together", first),
        Route("/api/together", picked),
        Route("/api/together/{what}", begin, methods=["POST"]),
        Route("/api/together/{key}", state),
        Route("/together/{key}/shown/{path:path}", shown),
        Route("/together/{key}/saved/{path:path}", saved),
    ]


def inert_policy() -> str:
    """Content-Security-Policy of what will be published, in the frame: no script, no form.

    What an author wrote may look like our own pages, but cannot ask for anything here.
    """
    return "; ".join((
        "default-src 'none'", f"style-src 'self' {digest(follow_style())}",
        "img-src 'self' data: blob:", "font-src 'self' data:", "base-uri 'none'",
        "form-action 'none'", "frame-ancestors 'self'",
    ))  # fmt: skip
