"""The second door, for phones: a socket in the network and a server on it."""

from __future__ import annotations

import asyncio
import contextlib
import ipaddress
import socket
from collections.abc import Iterator

import uvicorn

from img2plate.base.errors import OptionError, OutputError
from img2plate.base.files import explain
from img2plate.ui.worktable.web.doors import tcp_socket


def door_for_phones(share: str) -> socket.socket:
    """A socket at one address of this machine, any free port; empty: that towards the network.

    Raises OptionError, OutputError.
    """
    address = _given(share) if share else _towards_the_network()
    door = tcp_socket()
    try:
        door.bind((address, 0))
        door.listen(64)
    except OSError as error:
        door.close()
        raise OptionError(
            f"cannot be listened on: {explain(error)}", field="share", value=address,
            remedy="give an address that this machine has in your network",
        ) from error  # fmt: skip
    return door


def _given(share: str) -> str:
    """An address as somebody gave it: one of IPv4, and not that of all networks at once."""
    try:
        address = ipaddress.IPv4Address(share)
    except ValueError:
        address = None
    if address is None or address.is_unspecified or address.is_multicast:
        raise OptionError(
            "is not an address of this machine, such as 192.168.1.20", field="share", value=share
        )
    return str(address)


def _towards_the_network() -> str:
    """This machine's address towards the default route. Raises OutputError when there is none."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as asked:
        try:
            # Nothing is sent: a datagram socket only looks up the route. The address is of those
            # that are kept for documents (RFC 5737).
            asked.connect(("198.51.100.1", 9))
            return str(asked.getsockname()[0])
        except OSError:
            raise OutputError(
                "finds no network that a phone could be in", field="share",
                remedy="give an address of this machine, as in --share 192.168.1.20",
            ) from None  # fmt: skip


class Beside(uvicorn.Server):
    """A server in the loop of another, which begins and ends with it."""

    def __init__(self, config: uvicorn.Config, door: socket.socket) -> None:
        super().__init__(config)
        self._door = door
        self._task: asyncio.Task[None] | None = None

    @contextlib.contextmanager
    def capture_signals(self) -> Iterator[None]:
        """Leave signals to the other."""
        yield

    def begin(self) -> None:
        """Begin to answer."""
        self._task = asyncio.get_running_loop().create_task(self.serve(sockets=[self._door]))

    async def end(self) -> None:
        """End, and wait for it."""
        self.should_exit = True
        if self._task:
            await self._task
