"""Own beads from a photo of the card: the card to print, the photo, the palette."""

from __future__ import annotations

import tempfile
from pathlib import Path

from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import FileResponse, JSONResponse, Response
from starlette.routing import Route

from img2plate.base.lengths import PAPERS
from img2plate.measure.card import CARDS
from img2plate.pipeline.palette import write_card
from img2plate.ui.worktable.card import CardPhotos
from img2plate.ui.worktable.web.bodies import read_json, receive, version
from img2plate.ui.worktable.web.handlers import KEPT, Worktable


def routes(here: Worktable) -> list[Route]:
    """The addresses."""
    photos = CardPhotos(here.table)

    async def photo(request: Request) -> Response:
        """A photo as the body: what is on it."""
        project_id = request.path_params["project"]
        key, path = photos.place(project_id, request.query_params.get("name", ""))
        try:
            await receive(request, path)
        except BaseException:
            photos.drop(project_id, key)
            raise
        return JSONResponse(await run_in_threadpool(photos.found, project_id, key))

    def looked(request: Request) -> Response:
        """The picture of what was looked at."""
        path = photos.looked(request.path_params["project"], request.path_params["key"])
        return FileResponse(path, headers=KEPT)

    async def save(request: Request) -> Response:
        """Names for what was found: a palette, and the plate in it."""
        project_id, words = request.path_params["project"], await read_json(request)
        names, key = words.get("names"), str(words.get("key", ""))
        if not isinstance(names, list):
            raise HTTPException(400, "names are missing")
        title = str(words.get("title", ""))
        await run_in_threadpool(photos.save, project_id, key, version(words), title, names)
        return JSONResponse(await run_in_threadpool(here.table.state, project_id))

    project = "/api/projects/{project}"
    return [
        Route("/card/{paper}/{pitch}.pdf", card),
        Route(f"{project}/card", photo, methods=["POST"]),
        Route(f"{project}/card/save", save, methods=["POST"]),
        Route(f"{project}/card/{{key}}/looked.png", looked),
    ]


def card(request: Request) -> Response:
    """The card to print, for beads of a pitch."""
    paper, pitch = request.path_params["paper"], request.path_params["pitch"]
    if paper not in PAPERS or pitch not in {f"{card.pitch_mm:g}" for card in CARDS}:
        raise KeyError(pitch)
    with tempfile.TemporaryDirectory() as folder:
        pdf = write_card(Path(folder, "card.pdf"), PAPERS[paper], float(pitch)).read_bytes()
    name = f"bead-card-{pitch}.pdf"
    how = {"Content-Disposition": f'attachment; filename="{name}"'}
    return Response(pdf, media_type="application/pdf", headers=how)
