"""The place "Sheets": pages as pictures, a page to print them from, the follow-along page."""

from __future__ import annotations

import base64
import hashlib
from functools import cache

from starlette.requests import Request
from starlette.responses import FileResponse, JSONResponse, Response
from starlette.routing import Route

from img2plate.typeset.follow import follow_script, follow_style
from img2plate.ui.worktable.sheets import Sheets
from img2plate.ui.worktable.web.handlers import KEPT, Worktable
from img2plate.ui.worktable.web.pages import page as html_page


def routes(here: Worktable) -> list[Route]:
    """The addresses of this place."""
    sheets = Sheets(here.table)

    def pages(request: Request) -> Response:
        """What the pages of a pack are."""
        return JSONResponse(sheets.pages(*_pack(request)))

    def page(request: Request) -> Response:
        """The picture of one."""
        number, size = request.path_params["number"], request.path_params["size"]
        return FileResponse(sheets.page(*_pack(request), number, size), headers=KEPT)

    def to_print(request: Request) -> Response:
        """All pages at true scale, to be printed."""
        sheets.pages(*_pack(request))  # refuses what is no pack of ours
        return html_page("print")

    def follow(request: Request) -> Response:
        """The follow-along page of a pack, which holds its script inside.

        Not under the policy of our own pages: see `follow_policy`.
        """
        path = here.table.pack_file(*_pack(request), "follow.html")
        return FileResponse(path, headers={"Content-Security-Policy": follow_policy()})

    pack = "/api/projects/{project}/packs/{key}"
    return [
        Route(f"{pack}/pages", pages),
        Route(f"{pack}/pages/{{number:int}}/{{size}}.png", page),
        Route("/p/{project}/print/{key}", to_print),
        Route("/p/{project}/follow/{key}", follow),
    ]


def _pack(request: Request) -> tuple[str, str]:
    """Which pack a request means."""
    return request.path_params["project"], request.path_params["key"]


@cache
def follow_policy(*more: str, connect: bool = False) -> str:
    """Content-Security-Policy of the follow-along page.

    more: other scripts that stand in it; connect: it may ask its own server.
    Its own script and style alone, by their digests: nothing else in the file can run, and nothing
    can be asked for, not even here. No sandbox: the page keeps ticks in the browser's storage,
    which a sandboxed page does not have.
    """
    scripts = " ".join(map(digest, (follow_script(), *more)))
    return "; ".join((
        "default-src 'none'", f"script-src {scripts}", f"style-src {digest(follow_style())}",
        "font-src data:", "img-src data: blob:", *(["connect-src 'self'"] if connect else []),
        "base-uri 'none'", "form-action 'none'", "frame-ancestors 'none'",
    ))  # fmt: skip


def digest(text: str) -> str:
    """As a policy names what stands between the tags (CSP Level 3, 2.3.1)."""
    return f"'sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()}'"
