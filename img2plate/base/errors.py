"""The family of errors that a user can do something about, and the exit code of each kind.

    Img2PlateError             1  anything below
    +-- OptionError            2  an option's value, or options that do not go together
    +-- PictureError           3  a picture that is missing, unreadable, too large or empty
    +-- PaletteError           4  a palette file, or a palette name nobody knows
    +-- DocumentError          5  a plate document that cannot be read as one
    +-- SizeError              6  a plate of no beads, or of too many
    +-- OutputError            7  a place that cannot be written
    +-- StockError             8  not enough beads
    +-- FigureError            9  a figure's file, or a figure that cannot be built

A message is one line: what is wrong, what was seen, what to do next. The library does not know how
its options are called on a command line or in a form: it names their fields in backticks, as in
"too large; see `width`", and a front end puts its own names there. `field`, `value`, `reason` and
`remedy` say the same in parts, for a form that marks what is to be mended.
"""

from __future__ import annotations

import re
from enum import IntEnum
from typing import Any, ClassVar

FIELD = re.compile(r"`([A-Za-z_]\w*)`")
"""The name of a field in a message or a note."""


class ExitCode(IntEnum):
    """What the process returns; documented in the README."""

    DONE = 0
    FAILED = 1
    OPTION = 2
    PICTURE = 3
    PALETTE = 4
    DOCUMENT = 5
    SIZE = 6
    OUTPUT = 7
    STOCK = 8
    FIGURE = 9


class Img2PlateError(Exception):
    """Base of all errors that are told in one line, without a traceback.

    OptionError("is not two whole numbers", field="board", value="29", remedy="write 29x29") reads
    as `board`: '29' is not two whole numbers; write 29x29
    """

    exit_code: ClassVar[ExitCode] = ExitCode.FAILED
    line: int = 0
    """Of a text that was read, from 1; 0 where no line is to blame, or none is known."""

    def __init__(
        self, reason: str, *, field: str = "", value: object = None, remedy: str = ""
    ) -> None:
        """Make the message from its parts; `field` is a field of the options, if it is one's."""
        self.field, self.value, self.reason, self.remedy = field, value, reason, remedy
        # One argument makes the message, so that an error can come out of another process.
        super().__init__(f"`{field}`: {self.words}" if field else self.words)

    @property
    def words(self) -> str:
        """The message without its field, for where another name stands: a key of a file."""
        seen = "" if self.value is None else f"{_shown(self.value)} "
        return f"{seen}{self.reason}" + (f"; {self.remedy}" if self.remedy else "")


def without_marks(text: str) -> str:
    """A message or a note for a page, which has no options: fields without their backticks."""
    return FIELD.sub(r"\1", text)


def _shown(value: object) -> str:
    """A value as a user wrote it: text in quotes, 4.0 as 4."""
    if isinstance(value, float):
        return f"{value:g}"
    return repr(value) if isinstance(value, str) else str(value)


class OptionError(Img2PlateError):
    """An option's value is out of range, or two options do not go together."""

    exit_code = ExitCode.OPTION


class PictureError(Img2PlateError):
    """A picture is missing, unreadable, too large or empty."""

    exit_code = ExitCode.PICTURE


class PaletteError(Img2PlateError):
    """A palette file is wrong (row, column, reason), or a palette name is unknown."""

    exit_code = ExitCode.PALETTE


class DocumentError(Img2PlateError):
    """A plate document cannot be read as one."""

    exit_code = ExitCode.DOCUMENT


class SizeError(Img2PlateError):
    """A plate would have no beads, or too many."""

    exit_code = ExitCode.SIZE


class OutputError(Img2PlateError):
    """A place cannot be written."""

    exit_code = ExitCode.OUTPUT


class StockError(Img2PlateError):
    """There are not enough beads."""

    exit_code = ExitCode.STOCK


class FigureError(Img2PlateError):
    """A figure's file is wrong (file, key, reason), or its plates cannot go together."""

    exit_code = ExitCode.FIGURE

    def __init__(self, reason: str, *, line: int = 0, **parts: Any) -> None:
        """As any; the line of the description is told at the end of the message."""
        super().__init__(f"{reason} (at line {line})" if line else reason, **parts)
        self.line = line
