"""What a page sends: pictures, and words as JSON, never more than is sensible."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from starlette.exceptions import HTTPException
from starlette.requests import ClientDisconnect, Request

from img2plate.base.errors import PictureError

MOST_BYTES = 64 << 20
"""Of an uploaded picture."""
MOST_WORDS = 64 << 10
"""Bytes of any other request."""


async def receive(request: Request, path: Path) -> None:
    """Write a request's body to a file. Raises HTTPException when it is too large."""
    if int(request.headers.get("content-length") or 0) > MOST_BYTES:
        raise too_large()
    size = 0
    with path.open("wb") as file:
        try:
            async for part in request.stream():
                size += len(part)
                if size > MOST_BYTES:
                    raise too_large()
                file.write(part)
        except ClientDisconnect:
            raise PictureError("the picture did not arrive whole") from None


def too_large() -> HTTPException:
    """What to raise when a picture has too many bytes."""
    return HTTPException(413, f"the file is over {MOST_BYTES >> 20} MB; make the picture smaller")


async def read_json(request: Request, most: int = MOST_WORDS) -> dict[str, Any]:
    """The object that a request carries. Raises HTTPException for anything else."""
    body = await read_bytes(request, most)
    try:
        words = json.loads(body or b"{}")
    except (ValueError, RecursionError):  # the latter: brackets in brackets in brackets
        words = None
    if not isinstance(words, dict):
        raise HTTPException(400, "not a JSON object")
    return words


async def read_bytes(request: Request, most: int) -> bytes:
    """A request's body. Raises HTTPException when it has more than `most` bytes."""
    body = bytearray()
    if int(request.headers.get("content-length") or 0) <= most:
        async for part in request.stream():
            body += part
            if len(body) > most:
                break
        else:
            return bytes(body)
    raise HTTPException(413, f"that is over the limit of {most:,} bytes")


def version(words: dict[str, Any]) -> int:
    """Which version of a project a page has seen."""
    version = words.get("version")
    if not isinstance(version, int):
        raise HTTPException(400, "the version is missing")
    return version
