"""Small CSV files that people write by hand, read with their rows as an editor numbers them.

The one reader of stock files, bags, palettes, names and coins. Whoever reads says which kind of
error a wrong file is.
"""

from __future__ import annotations

import codecs
import csv
import re
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from img2plate.base.errors import Img2PlateError

_MOST_BYTES = 4_000_000
_FORMULA = ("=", "+", "-", "@", "\t", "\r")
"""What a formula begins with."""
_NOT_TEXT = re.compile(rb"[\0-\x08\x0e-\x1f]")
"""Control characters that no CSV file has."""
_COMMENT = re.compile(r"#(?![0-9A-Fa-f]{6}\b)")
"""A # at the start of a line, unless a colour stands in the first column."""


@dataclass(frozen=True)
class CsvRow:
    """One row of a file."""

    number: int
    """The file's first is 1."""
    cells: dict[str, str]
    """By column, without blanks around; "" where the row is short."""


@dataclass(frozen=True)
class CsvFile:
    """A file with a header."""

    lines: tuple[str, ...]
    """As they are, without line ends."""
    header: tuple[str, ...]
    """In small letters."""
    separator: str
    rows: tuple[CsvRow, ...]


def read_csv(
    path: Path,
    what: str,
    columns: tuple[str, ...],
    error: type[Img2PlateError],
    *,
    unique: str = "code",
) -> CsvFile:
    """Read a file; `what` names its kind. See `parse_csv`.

    Raises `error` with file, row, column and reason.
    """
    return parse_csv(path, read_lines(path, what, error), what, columns, error, unique=unique)


def parse_csv(
    path: Path,
    lines: list[str],
    what: str,
    columns: tuple[str, ...],
    error: type[Img2PlateError],
    *,
    unique: str = "code",
) -> CsvFile:
    """Take the lines of a file apart, whose header has `columns`; commas or semicolons separate.

    Lines that start with # are comments. `unique` is a column that no row may leave empty and no
    two may share; "" for none. Raises `error` with file, row, column and reason.
    """
    filled = [(n, line) for n, line in enumerate(lines, 1) if line.strip()]
    filled = [(n, line) for n, line in filled if not _COMMENT.match(line)]
    if not filled:
        raise error(f"{path}: nothing in it; a {what} starts with {','.join(columns)}")
    first = filled[0][1]
    separator = ";" if first.count(";") > first.count(",") else ","
    parsed = [(n, next(csv.reader([line], delimiter=separator))) for n, line in filled]
    header = tuple(cell.strip().lower() for cell in parsed[0][1])
    for wanted in columns:
        if wanted not in header:
            raise error(
                f"{path}, row {parsed[0][0]}: no column {wanted!r}; the header is"
                f" {','.join(columns)}"
            )
    rows = tuple(_row(path, number, cells, header, error) for number, cells in parsed[1:])
    if unique:
        _refuse_doubles(path, rows, unique, error)
    return CsvFile(tuple(lines), header, separator, rows)


def read_lines(path: Path, what: str, error: type[Img2PlateError]) -> list[str]:
    """Read a text file's lines; whatever can be wrong with it becomes an `error`."""
    try:
        if path.stat().st_size > _MOST_BYTES:
            raise error(f"{path}: too large to be a {what} (over 4 MB)")
        data = path.read_bytes()
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise error(_not_utf8(path, data, what)) from None
    except OSError as cause:
        raise error(f"cannot read {what} {path}: {cause.strerror}") from cause
    if "\0" in text:
        raise error(f"{path}: not a text file, so not a {what}")
    return text.splitlines()


def _not_utf8(path: Path, data: bytes, what: str) -> str:
    """What a file seems to be that is not UTF-8, and how to mend it.

    It is not read all the same: of the one-byte encodings none can be told from another for sure,
    and names would come out wrong.
    """
    utf16 = data.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE))
    if utf16 and len(data) % 2 == 0:
        return f"{path}: saved as UTF-16; save it as CSV UTF-8"
    if utf16 or _NOT_TEXT.search(data):
        return f"{path}: not a text file, so not a {what}"
    row = data[: _bad_byte(data)].count(b"\n") + 1
    return f"{path}, row {row}: not UTF-8, perhaps saved as Windows-1252; save it as CSV UTF-8"


def _bad_byte(data: bytes) -> int:
    """Where a file stops being UTF-8."""
    try:
        data.decode("utf-8")
    except UnicodeDecodeError as error:
        return error.start
    return len(data)


def _row(
    path: Path, number: int, cells: list[str], header: tuple[str, ...], error: type[Img2PlateError]
) -> CsvRow:
    """Put the cells of one row under their columns."""
    stripped = [cell.strip() for cell in cells]
    if any(stripped[len(header) :]):
        raise error(
            f"{path}, row {number}: {len(cells)} cells under {len(header)} columns;"
            " put text with a comma in double quotes"
        )
    padded = [*stripped, *[""] * (len(header) - len(cells))]
    return CsvRow(number, dict(zip(header, padded, strict=False)))


def _refuse_doubles(
    path: Path, rows: tuple[CsvRow, ...], column: str, error: type[Img2PlateError]
) -> None:
    """Each row has a value of its own in a column."""
    places = dict[str, int]()
    for row in rows:
        at, value = f"{path}, row {row.number}, column {column}:", row.cells[column]
        if not value:
            raise error(f"{at} empty; each row needs a {column}")
        if value in places:
            raise error(f"{at} {value!r} is on row {places[value]} too")
        places[value] = row.number


def for_spreadsheet(cells: Iterable[object]) -> list[object]:
    """The cells of a row to be written, none of which a spreadsheet takes for a formula.

    A text that begins as one gets an apostrophe in front (OWASP, "CSV Injection"); numbers stay.
    """
    return [
        f"'{cell}" if isinstance(cell, str) and _is_formula(cell) else cell
        for cell in cells
    ]  # fmt: skip


def _is_formula(text: str) -> bool:
    """Whether a spreadsheet would work a text out; a sign alone it leaves, and so a number."""
    number = re.fullmatch(r"[+-]?\d+(\.\d+)?", text)
    return len(text) > 1 and text.startswith(_FORMULA) and not number
