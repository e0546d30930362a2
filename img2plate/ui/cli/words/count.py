"""The sum of beads as JSON, or as a table for people."""

from __future__ import annotations

import json
from decimal import Decimal
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from img2plate.pipeline.stock import Shortfall
    from img2plate.tally.counts import Counts


def as_json(counts: Counts, short: tuple[Shortfall, ...] | None) -> str:
    """One JSON object."""
    from img2plate.pipeline.stock import shortfall_json

    report = _plain(counts)
    if short is not None:
        report["to_buy"] = shortfall_json(short)
    return json.dumps(report, ensure_ascii=False)


def _plain(counts: Counts) -> dict[str, Any]:
    """Plain types."""
    return {
        "plates": list(counts.tiles),
        "beads": counts.beads,
        "colour_changes": counts.changes,
        "hours": round(counts.hours, 2),
        "with_spares": counts.with_spares,
        "grams": round(counts.grams, 2),
        "bags": counts.bags,
        "price": None if counts.price is None else float(counts.price),
        "colours": [
            {
                "code": line.bead.code,
                "name": line.bead.name,
                "hex": line.bead.hex,
                "beads": line.beads,
                "with_spares": line.with_spares,
                "grams": round(line.grams, 2),
                "bags": line.bags,
                "per_plate": list(line.per_tile),
            }
            for line in counts.colours
        ],
    }


def as_text(counts: Counts, short: tuple[Shortfall, ...] | None) -> str:
    """A table for people, and what is to be bought below it."""
    from img2plate.tally.table import table_rows

    rows = [[str(value) for value in row] for row in table_rows(counts)]
    table = _columns(rows, words=4)  # code, name, hex, finish
    table += f"\n\nabout {counts.effort.number} {counts.effort.words}"
    return table if short is None else f"{table}\n\n{_to_buy(counts, short)}"


def _to_buy(counts: Counts, short: tuple[Shortfall, ...]) -> str:
    """What is missing in the stock, the most first."""
    if not short:
        return "the stock has all of these beads, spares included"
    from img2plate.pipeline.stock import price_of

    rows = [["to buy", "", "wanted", "owned", "missing", "bags", "price"]]
    for s in short:
        figures = s.wanted, s.owned, s.missing, s.bags or "-", _money(s.price)
        rows.append([s.bead.code, s.bead.name, *map(str, figures)])
    missing, bags = sum(s.missing for s in short), sum(s.bags for s in short)
    rows.append(["total", "", "", "", str(missing), str(bags), _money(price_of(short))])
    columns = 5 if counts.sold is None else 7 if counts.sold.priced else 6
    return _columns([row[:columns] for row in rows], words=2)


def _money(price: Decimal | None) -> str:
    """A price with two decimals."""
    return "-" if price is None else f"{price:.2f}"


def _columns(rows: list[list[str]], words: int) -> str:
    """Lines of text: words left, numbers right."""
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    return "\n".join(
        "  ".join(
            value.ljust(width) if place < words else value.rjust(width)
            for place, (value, width) in enumerate(zip(row, widths, strict=True))
        ).rstrip()
        for row in rows
    )
