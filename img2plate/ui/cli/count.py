"""`img2plate count`: what one plate takes, or several together."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from img2plate.ui.cli.pack_options import BAG_OPTIONS
from img2plate.ui.cli.shared import FILES, with_options

if TYPE_CHECKING:
    from img2plate.pipeline.stock import Shortfall
    from img2plate.tally.counts import Counts


@click.command()
@click.argument("plates", nargs=-1, required=True, type=FILES, metavar="PLATE.png...")
@click.option(
    "--palette", default="", metavar="NAME|FILE", help="When an editor dropped the plates' notes."
)
@click.option(
    "--spare",
    type=float,
    default=5.0,
    show_default=True,
    metavar="PERCENT",
    help="Beads to have over, on the sum.",
)
@click.option(
    "--out",
    type=FILES,
    metavar="FILE",
    help="Also write a .csv or .xlsx file.",
)
@click.option(
    "--stock",
    type=FILES,
    metavar="FILE",
    help="The beads you own: tells what is missing, and how many bags to buy.",
)
@click.option("--json", "as_json", is_flag=True, help="One JSON object on stdout, not a table.")
@with_options(BAG_OPTIONS)
def count(plates: tuple[Path, ...], **values: Any) -> None:
    """Add up the beads of plates: per colour, per plate, with spares, grams, bags and price.

    \b
    img2plate count packs/gull/plate.png
    img2plate count packs/*/plate.png --spare 10 --bag 1000 --bag-price 2.40 --out shopping.xlsx
    """
    from img2plate.inventory.stock import read_stock
    from img2plate.pipeline import count as job
    from img2plate.pipeline.stock import shortfall
    from img2plate.tally.bags import parse_bags
    from img2plate.tally.table import write_as_named

    stock = read_stock(values["stock"]) if values["stock"] else None
    counts = job.run(
        plates,
        palette=values["palette"],
        spare_percent=values["spare"],
        sold=parse_bags(values["bag"], values["bag_price"]),
    )
    if values["out"]:
        write_as_named(values["out"], counts)
    short = None if stock is None else shortfall(counts, stock)
    say = _as_json if values["as_json"] else _as_text
    click.echo(say(counts, short))


def _as_json(counts: Counts, short: tuple[Shortfall, ...] | None) -> str:
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


def _as_text(counts: Counts, short: tuple[Shortfall, ...] | None) -> str:
    """A table for people, and what is to be bought below it."""
    from img2plate.tally.table import table_rows

    rows = [[str(value) for value in row] for row in table_rows(counts)]
    table = _columns(rows, words=4)  # code, name, hex, finish
    return table if short is None else f"{table}\n\n{_to_buy(counts, short)}"


def _to_buy(counts: Counts, short: tuple[Shortfall, ...]) -> str:
    """What the stock lacks, the most first."""
    if not short:
        return "the stock has all of these beads, spares included"
    from img2plate.pipeline.stock import price_of

    rows = [["to buy", "", "wanted", "owned", "missing", "bags", "price"]]
    for s in short:
        figures = s.wanted, s.owned, s.missing, s.bags or "-", "-" if s.price is None else s.price
        rows.append([s.bead.code, s.bead.name, *map(str, figures)])
    missing, bags = sum(s.missing for s in short), sum(s.bags for s in short)
    rows.append(["in all", "", "", "", str(missing), str(bags), str(price_of(short))])
    columns = 5 if counts.sold is None else 7 if counts.sold.priced else 6
    return _columns([row[:columns] for row in rows], words=2)


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
