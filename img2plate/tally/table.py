"""The count sheet as a table: CSV, and a workbook for spreadsheets.

The workbook is Office Open XML (ECMA-376), which spreadsheet programs read. Sums and bags are
formulas, so that a reader can change the beads and see what follows.
"""

from __future__ import annotations

import csv
import io
import re
import zipfile
from collections.abc import Iterable
from datetime import datetime
from decimal import Decimal
from pathlib import Path
from typing import IO, Any, TextIO

from img2plate.base.csv_rows import for_spreadsheet
from img2plate.base.errors import OptionError
from img2plate.base.files import safe_file
from img2plate.tally.counts import ColourCount, Counts

_MOST_COLUMNS = 16_384
"""Columns of a worksheet (ECMA-376 applications' limit; from memory)."""


def write_counts(path: Path, counts: Counts, symbols: dict[int, str] | None = None) -> None:
    """Write a CSV: one line per colour, most used first, then the total; a column per tile."""
    with path.open("w", encoding="utf-8", newline="") as file:
        write_csv(file, counts, symbols)


def write_csv(file: TextIO, counts: Counts, symbols: dict[int, str] | None = None) -> None:
    """Write the lines of the CSV to an open file."""
    rows = (for_spreadsheet(row) for row in table_rows(counts, symbols))
    csv.writer(file, lineterminator="\n").writerows(rows)


def table_rows(counts: Counts, symbols: dict[int, str] | None = None) -> Iterable[list[str | int]]:
    """Head, a row a colour, and the total."""
    yield [*_head(counts, symbols), *counts.tiles]
    for line in counts.colours:
        yield [*_columns(counts, line, symbols), *line.per_tile]
    per_tile = [sum(column) for column in zip(*(c.per_tile for c in counts.colours), strict=True)]
    total: list[str | int] = ["total", "", "", ""]
    total += [counts.beads, counts.with_spares, f"{counts.grams:.2f}"]
    yield [*total, *_bag_columns(counts, counts.bags, counts.price), *_blank(symbols), *per_tile]


def _head(counts: Counts, symbols: dict[int, str] | None) -> list[str]:
    """Names of the columns before the tiles."""
    head = ["code", "name", "hex", "finish", "beads", "with_spares", "grams"]
    if counts.sold:
        head += ["bags"] + (["price"] if counts.sold.priced else [])
    return head + (["symbol"] if symbols is not None else [])


def _columns(counts: Counts, line: ColourCount, symbols: dict[int, str] | None) -> list[str | int]:
    """The colour, and how many beads of it."""
    bead = line.bead
    values: list[str | int] = [bead.code, bead.name, bead.hex, bead.finish]
    values += [line.beads, line.with_spares, f"{line.grams:.2f}"]
    values += _bag_columns(counts, line.bags, line.price)
    return values + ([symbols[line.index]] if symbols is not None else [])


def _bag_columns(counts: Counts, bags: int, price: Decimal | None) -> list[str | int]:
    """Bags and price, where they were asked for."""
    if not counts.sold:
        return []
    return [bags, "" if price is None else f"{price:.2f}"] if counts.sold.priced else [bags]


def _blank(symbols: dict[int, str] | None) -> list[str | int]:
    """The total has no symbol."""
    return [] if symbols is None else [""]


def write_workbook(path: Path, counts: Counts, symbols: dict[int, str] | None = None) -> None:
    """Write an .xlsx with one sheet; swatches are coloured cells, sums are formulas."""
    from xlsxwriter import Workbook

    written = io.BytesIO()
    with Workbook(written, {"in_memory": True}) as book:
        # A fixed date, so that equal plates give equal bytes.
        book.set_properties({"created": datetime(1980, 1, 1)})
        sheet = book.add_worksheet("beads")
        bold = book.add_format({"bold": True})
        head = _workbook_head(counts)
        tiles = counts.tiles[: _MOST_COLUMNS - len(head)]
        sheet.write_row(0, 0, [*head, *tiles], bold)
        for row, line in enumerate(counts.colours, 1):
            _workbook_line(book, sheet, row, counts, line, (symbols or {}).get(line.index, ""))
        _workbook_totals(sheet, bold, counts, len(head) + len(tiles))
        sheet.freeze_panes(1, 4)
        sheet.set_column(1, 1, 8)
        sheet.set_column(3, 3, 24)
    path.write_bytes(_in_our_name(written))


_CLAIMS = (
    (rb"<Application>[^<]*</Application>", b"<Application>img2plate</Application>"),
    (rb"<AppVersion>[^<]*</AppVersion>", b""),
    (rb"<fileVersion [^>]*/>", b""),
)
"""Where the writer says that a product, of some version, made the file; the last two may be left
out (ECMA-376, 22.2 and 18.2)."""


def _in_our_name(workbook: IO[bytes]) -> bytes:
    """The workbook, saying that this program made it; order and dates of its parts stay."""
    out = io.BytesIO()
    with zipfile.ZipFile(workbook) as parts, zipfile.ZipFile(out, "w") as mended:
        for part in parts.infolist():
            data = parts.read(part)
            if part.filename in ("docProps/app.xml", "xl/workbook.xml"):
                for claim, truth in _CLAIMS:
                    data = re.sub(claim, truth, data)
            mended.writestr(part, data)
    return out.getvalue()


def _workbook_head(counts: Counts) -> list[str]:
    """Names of the columns before the tiles."""
    head = ["symbol", "swatch", "code", "name", "beads", f"with {counts.spare_percent:g}% spare"]
    head.append("grams")
    if counts.sold:
        head += [counts.sold.words] + (["price"] if counts.sold.priced else [])
    return head


def _workbook_line(
    book: Any, sheet: Any, row: int, counts: Counts, line: ColourCount, symbol: str
) -> None:
    """One colour; beads with spares, bags and price follow from the beads by formula."""
    sheet.write_string(row, 0, symbol)
    sheet.write_blank(row, 1, None, book.add_format({"bg_color": line.bead.hex}))
    sheet.write_string(row, 2, line.bead.code)
    sheet.write_string(row, 3, line.bead.name)
    sheet.write_number(row, 4, line.beads)
    at = row + 1  # rows of formulas count from 1
    spares = f"=E{at}+ROUNDUP(ROUND(E{at}*{counts.spare_percent:g}/100,6),0)"
    sheet.write_formula(row, 5, spares, None, line.with_spares)
    each = line.grams / line.with_spares
    sheet.write_formula(row, 6, f"=ROUND(F{at}*{each:.6f},2)", None, round(line.grams, 2))
    column = 7
    if counts.sold:
        if bag := line.bag:
            held = f"F{at}/{bag.beads}" if bag.beads else f"G{at}/{bag.grams:g}"
            sheet.write_formula(row, 7, f"=ROUNDUP(ROUND({held},6),0)", None, line.bags)
            if bag.price is not None:
                sheet.write_formula(row, 8, f"=H{at}*{bag.price}", None, float(line.price or 0))
        column += 2 if counts.sold.priced else 1
    sheet.write_row(row, column, line.per_tile[: _MOST_COLUMNS - column])


def _workbook_totals(sheet: Any, bold: Any, counts: Counts, columns: int) -> None:
    """Sums of all columns of numbers."""
    from xlsxwriter.utility import xl_col_to_name

    last = len(counts.colours)
    values: list[float] = [counts.beads, counts.with_spares, round(counts.grams, 2)]
    if counts.sold:
        values.append(counts.bags)
        values += [float(counts.price)] if counts.price is not None else []
    values += [sum(column) for column in zip(*(c.per_tile for c in counts.colours), strict=True)]
    sheet.write_string(last + 1, 3, "total", bold)
    for column, value in zip(range(4, columns), values, strict=False):
        name = xl_col_to_name(column)
        sheet.write_formula(last + 1, column, f"=SUM({name}2:{name}{last + 1})", bold, value)


def write_as_named(path: Path, counts: Counts) -> None:
    """Write a CSV or a workbook, as the file's ending says.

    Raises OptionError for another ending, OutputError when the place cannot be written.
    """
    writers = {".csv": write_counts, ".xlsx": write_workbook}
    writer = writers.get(path.suffix.lower())
    if writer is None:
        raise OptionError("ends neither in .csv nor in .xlsx", field="out", value=path.name)
    with safe_file(path) as temporary:
        writer(temporary, counts)
