"""Who may ask, and what a browser may do with the answers.

The page is for the person who started it, on this machine. Host is checked against DNS rebinding,
Origin and Sec-Fetch-Site against other pages in the same browser, a random token against other
programs and users: it is in the printed address, then in a cookie. Nothing says that other pages
may read answers (no CORS).
"""

from __future__ import annotations

import secrets
from http.cookies import CookieError, SimpleCookie

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import PlainTextResponse, RedirectResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

POLICY = "; ".join((
    "default-src 'none'", "script-src 'self'", "style-src 'self'", "img-src 'self'",
    "font-src 'self'", "connect-src 'self'", "form-action 'self'", "base-uri 'none'",
    "frame-ancestors 'none'",
))  # fmt: skip
"""Content-Security-Policy of all that has none of its own: all from here, nothing inline."""
HEADERS = {
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Permissions-Policy": "camera=(), microphone=(), geolocation=()",
}
SAFE = ("GET", "HEAD")
FROM_HERE = ("same-origin", "none", "")
"""Sec-Fetch-Site of our own pages, of a typed address, of a program without it."""


class Guard:
    """Stands before the application (ASGI)."""

    def __init__(self, app: ASGIApp, *, port: int, token: str) -> None:
        """Guard `app` on a port; who knows the token may come in."""
        self._app = app
        self._hosts = {f"127.0.0.1:{port}", f"localhost:{port}"}
        if port == 80:
            self._hosts |= {"127.0.0.1", "localhost"}
        self._token = token
        self._cookie = f"worktable-{port}"  # cookies know no ports, so the name says it

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer, or refuse."""
        if scope["type"] == "lifespan":
            await self._app(scope, receive, send)
            return
        if scope["type"] != "http":
            return  # no web sockets here: uvicorn answers 500
        refusal = self._refusal(scope)

        async def send_with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in HEADERS.items():
                    headers[name] = value
                headers.setdefault("Content-Security-Policy", POLICY)
                headers.setdefault("Cache-Control", "no-store")
            await send(message)

        await (refusal or self._app)(scope, receive, send_with_headers)

    def _refusal(self, scope: Scope) -> Response | None:
        """What to answer in place of the application; None to let it through."""
        headers = Headers(scope=scope)
        host = headers.get("host", "")
        if host not in self._hosts:
            return PlainTextResponse("This page is for this machine alone.", 421)
        origin = headers.get("origin")
        foreign = origin is not None and origin != f"http://{host}"
        if scope["method"] not in SAFE and origin is None:
            foreign = True  # browsers always say it
        if path_token := _path_token(scope["path"]):
            return self._enter(path_token, foreign)
        if foreign or headers.get("sec-fetch-site", "") not in FROM_HERE:
            return PlainTextResponse("Another page asked for this.", 403)
        if not secrets.compare_digest(self._given(headers).encode(), self._token.encode()):
            return PlainTextResponse(
                "Please open the address that the worktable printed when it started.", 403
            )
        return None

    def _enter(self, given: str, foreign: bool) -> Response:
        """Trade the token of the address for a cookie."""
        if foreign or not secrets.compare_digest(given.encode(), self._token.encode()):
            return PlainTextResponse("This address is of an earlier start; see the newest.", 403)
        answer = RedirectResponse("/", 303)
        answer.set_cookie(self._cookie, self._token, httponly=True, samesite="strict")
        return answer

    def _given(self, headers: Headers) -> str:
        """The token that a request carries, or nothing."""
        jar = SimpleCookie()
        try:
            jar.load(headers.get("cookie", ""))
        except CookieError:
            return ""
        return jar[self._cookie].value if self._cookie in jar else ""


def _path_token(path: str) -> str:
    """The token in an address `/open/TOKEN`."""
    return path.removeprefix("/open/") if path.startswith("/open/") else ""
