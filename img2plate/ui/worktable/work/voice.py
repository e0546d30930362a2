"""How a task in a worker process is heard: how far it is, and pictures of a plate so far."""

from __future__ import annotations

import time
from multiprocessing.connection import Connection
from typing import Any

from img2plate.base.errors import SizeError

OFTEN_SECONDS = 0.4
"""Between two pictures of a plate so far: drawing them is not to slow down the search."""


class Stopped(Exception):
    """A task was asked to stop, and did."""


class AskFirstError(SizeError):
    """A plate is a lot of work: somebody is to be asked before any beads are chosen for it."""


class Voice:
    """What a task tells, through the pipe of its process. Raises Stopped when asked to stop."""

    def __init__(self, pipe: Connection, asked: Any) -> None:
        """Speak into `pipe` until the event `asked` is set."""
        self._pipe, self._asked = pipe, asked
        self._next = 0.0

    def __call__(self, stage: str, share: float) -> None:
        """Tell how far the task is, as `Progress`."""
        if self._asked.is_set():
            raise Stopped
        self._pipe.send(("progress", stage, share))

    def is_due(self) -> bool:
        """Whether a picture may be shown again."""
        return time.monotonic() >= self._next

    def show(self, picture: bytes) -> None:
        """Show a picture of the plate so far: a PNG."""
        self._pipe.send(("so far", picture))
        self._next = time.monotonic() + OFTEN_SECONDS
