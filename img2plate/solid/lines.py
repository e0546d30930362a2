"""Which line of a description is to blame, for errors that come up after it was read."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from img2plate.base.errors import FigureError


@contextmanager
def on_line(line: int) -> Iterator[None]:
    """Errors inside are those of a line of the description, unless they name one; 0: of none."""
    try:
        yield
    except FigureError as error:
        if error.line or not line:
            raise
        raise FigureError(str(error), line=line) from None
