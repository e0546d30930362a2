"""The stock file: a CSV with a row `code,count` for each colour that is owned.

Lines that start with # are comments, other columns are left as they are. A colour without a row is
not owned. A file that is wrong is refused with the row, as an editor numbers it, and the reason.
"""

from __future__ import annotations

import csv
from collections.abc import Mapping
from dataclasses import dataclass, replace
from math import ceil
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from img2plate.base.csv_rows import read_csv
from img2plate.base.errors import StockError
from img2plate.base.files import safe_file
from img2plate.colour.palette import Palette

_MOST_BEADS = 1_000_000_000


@dataclass(frozen=True, eq=False)
class Stock:
    """How many beads of each code are owned."""

    path: Path
    lines: tuple[str, ...]
    """The file as it is, without line ends."""
    header: tuple[str, ...]
    separator: str
    counts: Mapping[str, int]
    rows: Mapping[str, int]
    """The row of each code, the first is 1."""

    @property
    def beads(self) -> int:
        """All beads."""
        return sum(self.counts.values())

    def limits(self, palette: Palette, *, strict: bool = True) -> NDArray[np.int64]:
        """(n,) int64: beads of each palette colour that are owned.

        Raises StockError for a code that the palette does not have, unless `strict` is off.
        """
        for code, row in self.rows.items():
            if strict and code not in palette.by_code:
                raise StockError(
                    f"{self.path}, row {row}, column code: palette {palette.name} has no {code!r}"
                )
        return np.array([self.counts.get(bead.code, 0) for bead in palette.beads], dtype=np.int64)

    def keeping_back(self, spare_percent: float) -> Stock:
        """Return the beads that a plate may use when its spare beads are to be left over."""
        counts = {code: _without_spares(n, spare_percent) for code, n in self.counts.items()}
        return replace(self, counts=counts)

    def missing(self, palette: Palette, counts: NDArray[np.int64]) -> dict[str, int]:
        """How many beads are too few for these counts (n,) of a palette's colours, by code; the
        most first. A colour without a row is not owned."""
        short = np.maximum(counts - self.limits(palette, strict=False), 0)
        most_first = np.argsort(-short, kind="stable")[: np.count_nonzero(short)]
        return {palette.beads[index].code: int(short[index]) for index in most_first}

    def without(self, used: Mapping[str, int]) -> Stock:
        """Return what is left when beads are taken. Raises StockError when there are too few."""
        short = {c: n - self.counts.get(c, 0) for c, n in used.items() if n > self.counts.get(c, 0)}
        if short:
            code, missing = max(short.items(), key=lambda each: each[1])
            more = f", and {len(short) - 1} more colours too few" if len(short) > 1 else ""
            raise StockError(
                f"{self.path}: {missing} beads of {code} are missing{more}; nothing was taken."
                " Are these the plates that were built?"
            )
        counts = {code: n - used.get(code, 0) for code, n in self.counts.items()}
        lines, place = list(self.lines), self.header.index("count")
        for code in (code for code, n in used.items() if n):
            cells = next(csv.reader([lines[self.rows[code] - 1]], delimiter=self.separator))
            cells[place] = str(counts[code])
            lines[self.rows[code] - 1] = _row(cells, self.separator)
        return Stock(self.path, tuple(lines), self.header, self.separator, counts, self.rows)


def read_stock(path: Path) -> Stock:
    """Read a stock file. Raises StockError with file, row, column and reason."""
    file = read_csv(path, "stock file", ("code", "count"), StockError)
    rows = {row.cells["code"]: row.number for row in file.rows}
    counts = {
        row.cells["code"]: _count(row.cells["count"], f"{path}, row {row.number}, column")
        for row in file.rows
    }
    return Stock(path, file.lines, file.header, file.separator, counts, rows)


def write_stock(stock: Stock) -> None:
    """Write a stock to its file, whole or not at all. Raises OutputError."""
    with safe_file(stock.path.resolve()) as temporary:
        temporary.write_text("\n".join(stock.lines) + "\n", encoding="utf-8")


def _without_spares(owned: int, spare_percent: float) -> int:
    """The most beads that together with their spares, rounded up, are owned."""
    most = int(owned / (1 + spare_percent / 100)) + 1
    while most and most + ceil(round(most * spare_percent / 100, 6)) > owned:
        most -= 1
    return most


def _count(text: str, at: str) -> int:
    """Check one count."""
    if not text:
        raise StockError(f"{at} count: empty; write 0 for a colour that is used up")
    if text.startswith("-"):
        raise StockError(f"{at} count: {text} is below 0")
    if not text.isascii() or not text.isdigit() or int(text) > _MOST_BEADS:
        raise StockError(f"{at} count: {text!r} is not a whole number of beads")
    return int(text)


def _row(cells: list[str], separator: str) -> str:
    """One CSV row without a line end."""
    from io import StringIO

    text = StringIO()
    csv.writer(text, delimiter=separator, lineterminator="").writerow(cells)
    return text.getvalue()
