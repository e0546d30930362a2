"""What a phone in the same network may ask: the page of a plate that is shared, and its ticks.

An application of its own on a socket of its own, which knows links and nothing else: no project, no
list, no cookie. Whatever else is asked for is answered in the same words.
"""

from __future__ import annotations

from typing import Any

from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.datastructures import Headers, MutableHeaders
from starlette.exceptions import HTTPException
from starlette.middleware import Middleware
from starlette.requests import Request
from starlette.responses import JSONResponse, PlainTextResponse, Response
from starlette.routing import Route
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from img2plate.typeset.follow.shared import shared_script
from img2plate.ui.worktable.shares import Share, Shares
from img2plate.ui.worktable.web.bodies import read_json
from img2plate.ui.worktable.web.sheets import follow_policy

HEADERS = {
    "Content-Security-Policy": "default-src 'none'; frame-ancestors 'none'",
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "no-referrer",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(), microphone=(), geolocation=()",
    "Cache-Control": "no-store",
    "X-Robots-Tag": "noindex",
}
MOST_BYTES = 64 << 10
"""Of ticks in one request."""


def build_phone(shares: Shares, *, host: str) -> ASGIApp:
    """The application for phones, at the address and port `host`."""

    def found(request: Request) -> tuple[str, Share]:
        """What the link is of. Raises HTTPException."""
        if (share := shares.find(request.path_params["token"])) is None:
            raise HTTPException(404)
        if not share[1].allow():
            raise HTTPException(429, "Too many requests at once; wait a moment.")
        return share

    def page(request: Request) -> Response:
        """The page to follow."""
        policy = follow_policy(shared_script(), connect=True)
        headers = {"Content-Security-Policy": policy}
        return Response(found(request)[1].page, media_type="text/html", headers=headers)

    async def ticks(request: Request) -> Response:
        """Ticks from a phone, and those that are new for it."""
        if request.headers.get("origin") != f"http://{host}":
            raise HTTPException(404)
        project_id, share = found(request)
        words = await read_json(request, MOST_BYTES)
        return JSONResponse(await run_in_threadpool(shares.exchange, project_id, share, words))

    routes = [Route("/{token}/", page), Route("/{token}/ticks", ticks, methods=["POST"])]
    handlers: dict[Any, Any] = {404: _nothing, 405: _nothing}
    guard = Middleware(PhoneGuard, host=host)
    app = Starlette(routes=routes, middleware=[guard], exception_handlers=handlers)
    app.router.redirect_slashes = False
    return app


class PhoneGuard:
    """Stands before it (ASGI): one Host alone, strict headers."""

    def __init__(self, app: ASGIApp, *, host: str) -> None:
        self._app, self._host = app, host

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer, or refuse."""
        if scope["type"] != "http":
            return

        async def send_with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in HEADERS.items():
                    headers.setdefault(name, value)
            await send(message)

        answer = self._app if Headers(scope=scope).get("host") == self._host else _NOTHING
        await answer(scope, receive, send_with_headers)


_NOTHING = PlainTextResponse("There is nothing here.", 404)


async def _nothing(_request: Request, _error: Exception) -> Response:
    return _NOTHING
