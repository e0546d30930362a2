"""Start the page, say where it is, end it."""

from __future__ import annotations

import contextlib
import secrets
import signal
import socket
from collections.abc import Callable
from pathlib import Path
from types import FrameType
from typing import Any

import platformdirs
import uvicorn

from img2plate.base.errors import OptionError, OutputError
from img2plate.base.files import explain
from img2plate.ui.worktable.web.app import build
from img2plate.ui.worktable.web.beside import Beside, door_for_phones
from img2plate.ui.worktable.web.doors import tcp_socket
from img2plate.ui.worktable.web.handlers import Worktable
from img2plate.ui.worktable.web.phone import build_phone

HOST = "127.0.0.1"


def usual_folder() -> Path:
    """Where projects are kept unless somebody says otherwise."""
    return Path(platformdirs.user_data_dir("img2plate", appauthor=False)) / "worktable"


def serve(
    port: int, folder: Path | None, ready: Callable[[str], None], share: str | None = None
) -> None:
    """Serve the page until it is stopped; `ready` is told its address.

    port 0: any free one. share: an IPv4 address of this machine at which phones may follow what
    is shared; empty for that towards the network, None for nothing. Raises OptionError, and
    OutputError when the port or the folder cannot be had.
    """
    if not 0 <= port <= 65535:
        raise OptionError("is not from 0 to 65535", field="port", value=port)
    folder = (folder or usual_folder()).resolve()
    with contextlib.ExitStack() as doors:
        door = doors.enter_context(_door(port))
        phones = doors.enter_context(door_for_phones(share)) if share is not None else None
        _serve(door, phones, folder, ready)


def _serve(
    door: socket.socket, phones: socket.socket | None, folder: Path, ready: Callable[[str], None]
) -> None:
    """Answer at one door, or two."""
    port, token = door.getsockname()[1], secrets.token_urlsafe(24)
    host = ":".join(map(str, phones.getsockname())) if phones else ""
    shared_at = f"http://{host}" if phones else ""
    app, here = build(folder, port=port, token=token, shared_at=shared_at)
    usual: dict[str, Any] = {
        "log_level": "error", "access_log": False, "server_header": False, "ws": "none",
        "timeout_graceful_shutdown": 2,
    }  # fmt: skip
    server = _Server(
        uvicorn.Config(app, **usual), here, lambda: ready(f"http://{HOST}:{port}/open/{token}")
    )
    if phones:
        for_phones = build_phone(here.shares, host=host)
        config = uvicorn.Config(for_phones, lifespan="off", limit_concurrency=64, **usual)
        server.beside = Beside(config, phones)
    # The server ends by itself and then lets the signal happen: as Ctrl-C, so that all is put away.
    signal.signal(signal.SIGTERM, signal.default_int_handler)
    try:
        with contextlib.suppress(KeyboardInterrupt):  # it is how the page is meant to end
            server.run(sockets=[door])
    finally:
        here.table.end()


class _Server(uvicorn.Server):
    """Says when it answers, and lets go of listening pages when it is to end."""

    def __init__(self, config: uvicorn.Config, here: Worktable, ready: Callable[[], None]) -> None:
        super().__init__(config)
        self._here, self._ready = here, ready
        self.beside: Beside | None = None

    async def startup(self, sockets: list[socket.socket] | None = None) -> None:
        """Begin to answer."""
        if hasattr(signal, "SIGHUP"):  # the terminal is closed
            signal.signal(signal.SIGHUP, self.handle_exit)
        await super().startup(sockets)
        if self.beside:
            self.beside.begin()
        self._ready()

    async def shutdown(self, sockets: list[socket.socket] | None = None) -> None:
        """End, what stands beside it first."""
        if self.beside:
            await self.beside.end()
        await super().shutdown(sockets)

    def handle_exit(self, sig: int, frame: FrameType | None) -> None:
        """End."""
        self._here.hub.close()
        super().handle_exit(sig, frame)


def _door(port: int) -> socket.socket:
    """A socket of this machine alone. Raises OutputError when the port is taken."""
    door = tcp_socket()
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
