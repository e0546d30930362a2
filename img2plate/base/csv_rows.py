"""Small CSV files that people write by hand, read with their rows as an editor numbers them."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from pathlib import Path

from img2plate.base.errors import StockError

_MOST_BYTES = 4_000_000


@dataclass(frozen=True)
class CsvRow:
    """One row of a file."""

    number: int
    """The file's first is 1."""
    cells: dict[str, str]
    """By column, without blanks around; "" where the row is short."""


@dataclass(frozen=True)
class CsvFile:
    """A file with a row for each code."""

    lines: tuple[str, ...]
    """As they are, without line ends."""
    header: tuple[str, ...]
    """In small letters."""
    separator: str
    rows: tuple[CsvRow, ...]


def read_csv(path: Path, what: str, columns: tuple[str, ...]) -> CsvFile:
    """Read a file with a header that has `columns`, `code` among them, each code once.

    `what` names the kind of file. Lines that start with # are comments; commas or semicolons
    separate. Raises StockError with file, row, column and reason.
    """
    lines = _read_lines(path, what)
    filled = [(n, line) for n, line in enumerate(lines, 1) if line.strip() and line[0] != "#"]
    if not filled:
        raise StockError(f"{path}: nothing in it; a {what} starts with {','.join(columns)}")
    first = filled[0][1]
    separator = ";" if first.count(";") > first.count(",") else ","
    parsed = [(n, next(csv.reader([line], delimiter=separator))) for n, line in filled]
    header = tuple(cell.strip().lower() for cell in parsed[0][1])
    for wanted in columns:
        if wanted not in header:
            raise StockError(
                f"{path}, row {parsed[0][0]}: no column {wanted!r}; the header is"
                f" {','.join(columns)}"
            )
    rows, places = list[CsvRow](), dict[str, int]()
    for number, cells in parsed[1:]:
        padded = [*map(str.strip, cells), *[""] * (len(header) - len(cells))]
        row = CsvRow(number, dict(zip(header, padded, strict=False)))
        _check_code(row.cells["code"], places, f"{path}, row {number}, column code:")
        places[row.cells["code"]] = number
        rows.append(row)
    return CsvFile(tuple(lines), header, separator, tuple(rows))


def _check_code(code: str, places: dict[str, int], at: str) -> None:
    """Each row has a code of its own."""
    if not code:
        raise StockError(f"{at} empty; each row needs a code")
    if code in places:
        raise StockError(f"{at} {code!r} is on row {places[code]} too")


def _read_lines(path: Path, what: str) -> list[str]:
    """Read a text file's lines; whatever can be wrong with it becomes a StockError."""
    try:
        if path.stat().st_size > _MOST_BYTES:
            raise StockError(f"{path}: too large to be a {what} (over 4 MB)")
        return path.read_text(encoding="utf-8-sig").splitlines()
    except UnicodeDecodeError:
        raise StockError(f"{path}: not a text file (UTF-8); a {what} is CSV") from None
    except OSError as error:
        raise StockError(f"cannot read {what} {path}: {error.strerror}") from error
