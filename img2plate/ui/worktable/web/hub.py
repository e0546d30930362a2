"""Who listens to a project, and what they hear: from any thread to the pages that look at it."""

from __future__ import annotations

import asyncio
import json
from collections.abc import AsyncIterator, Callable
from typing import Any

KEEP_ALIVE_SECONDS = 15.0
GONE_SECONDS = 6.0
"""A page that is loaded again is back by then."""
_Queue = asyncio.Queue[dict[str, Any] | None]


class Hub:
    """The listeners of all projects. Only `tell` may be called from other threads."""

    def __init__(self, nobody: Callable[[str], None]) -> None:
        """Start; `nobody` is told of a project that no page looks at any more."""
        self._nobody = nobody
        self._listeners: dict[str, set[_Queue]] = {}
        self._loop: asyncio.AbstractEventLoop | None = None
        self._closed = False

    def tell(self, project: str, event: dict[str, Any]) -> None:
        """Tell all pages of a project."""
        loop = self._loop
        if loop is not None and not self._closed:
            loop.call_soon_threadsafe(self._put, project, event)

    def close(self) -> None:
        """End all streams, so that the server can end."""
        self._closed = True
        for queue in [queue for each in self._listeners.values() for queue in each]:
            queue.put_nowait(None)

    async def listen(self, project: str) -> AsyncIterator[str]:
        """Events of a project, as a browser's EventSource reads them (HTML, 9.2)."""
        self._loop = asyncio.get_running_loop()
        queue: _Queue = asyncio.Queue()
        self._listeners.setdefault(project, set()).add(queue)
        news = asyncio.ensure_future(queue.get())
        try:
            yield _as_text({"what": "listening"})  # what was told before that, nobody heard
            while not self._closed:
                # Not wait_for, which may lose what comes in the moment of its timeout.
                if not (await asyncio.wait({news}, timeout=KEEP_ALIVE_SECONDS))[0]:
                    yield ": still here\n\n"
                    continue
                if (event := news.result()) is None:
                    return
                news = asyncio.ensure_future(queue.get())
                yield _as_text(event)
        finally:
            news.cancel()
            self._listeners[project].discard(queue)
            if not self._closed:
                self._loop.call_later(GONE_SECONDS, self._look, project)

    def _put(self, project: str, event: dict[str, Any]) -> None:
        """In the loop's own thread."""
        for queue in self._listeners.get(project, ()):
            queue.put_nowait(event)

    def _look(self, project: str) -> None:
        """See whether anybody is left."""
        if not self._listeners.get(project):
            self._listeners.pop(project, None)
            self._nobody(project)


def _as_text(event: dict[str, Any]) -> str:
    """An event as it is sent."""
    return f"data: {json.dumps(event, ensure_ascii=False)}\n\n"
