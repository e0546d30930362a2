"""Keep the lines of C libraries off the user's terminal: what is wrong is said by us, in one line.

libtiff writes to standard error by itself, inside Pillow and inside OpenCV, and knows no switch
that reaches it from here. So the file descriptor is turned aside while a TIFF is decoded.
"""

from __future__ import annotations

import os
import threading
from collections.abc import Iterator
from contextlib import contextmanager

TIFF_HEADS = (b"II*\0", b"MM\0*", b"II+\0", b"MM\0+")
_ONE_AT_A_TIME = threading.Lock()
"""The descriptor belongs to the whole process."""


@contextmanager
def silent_libraries(data: bytes) -> Iterator[None]:
    """Nothing on standard error while a TIFF is decoded; any other picture's library is silent."""
    if not data.startswith(TIFF_HEADS):
        yield
        return
    with _ONE_AT_A_TIME:
        try:
            kept = os.dup(2)
        except OSError:  # there is none
            yield
            return
        nowhere = os.open(os.devnull, os.O_WRONLY)
        try:
            os.dup2(nowhere, 2)
            yield
        finally:
            os.dup2(kept, 2)
            os.close(kept)
            os.close(nowhere)
