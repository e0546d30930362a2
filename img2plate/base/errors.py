"""The family of errors that a user can do something about, and the exit code of each kind.

    Img2PlateError             1  anything below
    +-- OptionError            2  an option's value, or options that exclude each other
    +-- PictureError           3  a picture that is missing, unreadable, too large or empty
    +-- PaletteError           4  a palette file, or a palette name nobody knows
    +-- DocumentError          5  a plate document that cannot be read as one
    +-- SizeError              6  a plate of no beads, or of too many
    +-- OutputError            7  a place that cannot be written
    +-- StockError             8  not enough beads
    +-- FigureError            9  a figure's file, or a figure that cannot be built

A message is one line: what is wrong, what was seen, what to do next (naming the option).
"""

from __future__ import annotations

from enum import IntEnum
from typing import ClassVar


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
    """Base of all errors that are told in one line, without a traceback."""

    exit_code: ClassVar[ExitCode] = ExitCode.FAILED


class OptionError(Img2PlateError):
    """An option's value is out of range, or two options exclude each other."""

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
