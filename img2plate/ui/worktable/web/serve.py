"""Start the page, say where it is, end it."""

from __future__ import annotations

import contextlib
import secrets
import signal
import socket
from collections.abc import Callable
from pathlib import Path
from types import FrameType

import platformdirs
import uvicorn

from img2plate.base.errors import OptionError, OutputError
from img2plate.base.files import explain
from img2plate.ui.worktable.web.app import build
from img2plate.ui.worktable.web.handlers import Worktable

HOST = "127.0.0.1"


def usual_folder() -> Path:
    """Where projects are kept unless somebody says otherwise."""
    return Path(platformdirs.user_data_dir("img2plate", appauthor=False)) / "worktable"


def serve(port: int, folder: Path | None, ready: Callable[[str], None]) -> None:
    """Serve the page until it is stopped; `ready` is told its address.

    port 0: any free one. Raises OutputError when the port or the folder cannot be had.
    """
    if not 0 <= port <= 65535:
        raise OptionError("is not from 0 to 65535", field="port", value=port)
    door = _door(port)
    port, token = door.getsockname()[1], secrets.token_urlsafe(24)
    try:
        app, here = build((folder or usual_folder()).resolve(), port=port, token=token)
    except BaseException:
        door.close()
        raise
    config = uvicorn.Config(
        app, log_level="error", access_log=False, server_header=False, ws="none",
        timeout_graceful_shutdown=2,
    )  # fmt: skip
    server = _Server(config, here, lambda: ready(f"http://{HOST}:{port}/open/{token}"))
    # The server ends by itself and then lets the signal happen: as Ctrl-C, so that all is put away.
    signal.signal(signal.SIGTERM, signal.default_int_handler)
    try:
        with contextlib.suppress(KeyboardInterrupt):  # it is how the page is meant to end
            server.run(sockets=[door])
    finally:
        here.table.end()
        door.close()


class _Server(uvicorn.Server):
    """Says when it answers, and lets go of listening pages when it is to end."""

    def __init__(self, config: uvicorn.Config, here: Worktable, ready: Callable[[], None]) -> None:
        super().__init__(config)
        self._here, self._ready = here, ready

    async def startup(self, sockets: list[socket.socket] | None = None) -> None:
        """Begin to answer."""
        if hasattr(signal, "SIGHUP"):  # the terminal is closed
            signal.signal(signal.SIGHUP, self.handle_exit)
        await super().startup(sockets)
        self._ready()

    def handle_exit(self, sig: int, frame: FrameType | None) -> None:
        """End."""
        self._here.hub.close()
        super().handle_exit(sig, frame)


def _door(port: int) -> socket.socket:
    """A socket of this machine alone. Raises OutputError when the port is taken."""
    door = socket.socket()
    door.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        door.bind((HOST, port))
        door.listen(128)
    except OSError as error:
        door.close()
        import errno

        if error.errno == errno.EADDRINUSE:
            raise OutputError(
                "is in use by another program", field="port", value=port,
                remedy="choose another, or 0 for any free one",
            ) from None  # fmt: skip
        raise OutputError(f"cannot listen on port {port}: {explain(error)}") from error
    return door
