"""Sockets to listen on."""

from __future__ import annotations

import socket


def tcp_socket() -> socket.socket:
    """A socket whose connections asyncio answers at once.

    It turns Nagle's waiting off (RFC 896) only where TCP is named; else each answer of two parts
    waits 40 ms for the other side's delayed acknowledgement.
    """
    return socket.socket(socket.AF_INET, socket.SOCK_STREAM, socket.IPPROTO_TCP)
