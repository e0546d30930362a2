"""The pages as they are sent: what several of them have in common stands in one place."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from starlette.responses import HTMLResponse

STATIC = Path(__file__).parent / "static"
_HAND = '  <section class="place" id="place-hand"'
_END = "\n  </section>\n"


def page(name: str, status: int = 200, policy: str = "") -> HTMLResponse:
    """The answer with a page of that name; never kept by the browser. A policy is its own one."""
    own = {"Content-Security-Policy": policy} if policy else {}
    return HTMLResponse(page_text(name), status, {"Cache-Control": "no-store", **own})


@cache
def page_text(name: str) -> str:
    """A page with the head that all have; that of a figure with the place by hand of a plate's."""
    text = _read(name).replace("<!-- head -->\n", _read("head"))
    return text.replace("<!-- by hand -->", _by_hand()) if "<!-- by hand -->" in text else text


def _by_hand() -> str:
    project = _read("project")
    start = project.index(_HAND)
    return project[start : project.index(_END, start) + len(_END)]


def _read(name: str) -> str:
    return (STATIC / f"{name}.html").read_text(encoding="utf-8")
