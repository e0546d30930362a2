"""Questions to the stock, beside `pipeline`: what is left, what plates take, what to buy."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path
from typing import Any

import numpy as np

from img2plate.colour.palette import Bead
from img2plate.colour.palette_file import find_palette
from img2plate.inventory.stock import Stock, read_stock, write_stock
from img2plate.plate.document import read_plate
from img2plate.tally.counts import ColourCount, Counts


@dataclass(frozen=True)
class Shortfall:
    """One colour that the stock does not have enough of."""

    bead: Bead
    wanted: int
    """With spares."""
    owned: int
    bags: int
    """Bags to buy; 0 when no bag was stated."""
    price: Decimal | None
    """Of those bags, when it was stated."""

    @property
    def missing(self) -> int:
        """Beads to buy."""
        return self.wanted - self.owned


def shortfall(counts: Counts, stock: Stock) -> tuple[Shortfall, ...]:
    """Colours of which more beads are wanted, spares among them, than are owned; most first."""
    short = [_short(line, stock.counts.get(line.bead.code, 0)) for line in counts.colours]
    return tuple(sorted((s for s in short if s.missing > 0), key=lambda s: -s.missing))


def price_of(short: Sequence[Shortfall]) -> Decimal | None:
    """What the bags that have a price cost together; None when none has."""
    prices = [line.price for line in short if line.price is not None]
    return sum(prices, Decimal(0)) if prices else None


def shortfall_json(short: Sequence[Shortfall]) -> dict[str, Any]:
    """Plain types: colours, beads, bags and price of what is to be bought."""
    price = price_of(short)
    return {
        "missing": sum(line.missing for line in short),
        "bags": sum(line.bags for line in short),
        "price": None if price is None else float(price),
        "colours": [
            {
                "code": line.bead.code,
                "name": line.bead.name,
                "wanted": line.wanted,
                "owned": line.owned,
                "missing": line.missing,
                "bags": line.bags,
                "price": None if line.price is None else float(line.price),
            }
            for line in short
        ],
    }


def take(path: Path, documents: Sequence[Path]) -> tuple[Stock, int]:
    """Subtract finished plates from a stock file, all or none.

    Returns what is left, and how many beads were taken. Raises StockError when there are too few,
    and leaves the file as it was.
    """
    stock, used = read_stock(path), dict[str, int]()
    for document in documents:
        plate = read_plate(document)
        for bead, amount in zip(plate.palette.beads, plate.counts().tolist(), strict=True):
            if amount:
                used[bead.code] = used.get(bead.code, 0) + amount
    left = stock.without(used)
    write_stock(left)
    return left, sum(used.values())


def show(path: Path, palette_name: str, picture: Path) -> int:
    """Draw what is left of each palette colour as PNG; returns beads in all. Raises StockError."""
    from img2plate.base.files import safe_file
    from img2plate.typeset.stock import draw_stock

    stock, palette = read_stock(path), find_palette(palette_name)
    limits = stock.limits(palette)
    with safe_file(picture) as temporary:
        owned = np.array([bead.code in stock.counts for bead in palette.beads])
        draw_stock(palette, limits, owned).save(temporary, format="PNG")
    return int(np.sum(limits))


def _short(line: ColourCount, owned: int) -> Shortfall:
    """What is missing of one colour."""
    missing = max(0, line.with_spares - owned)
    grams = line.grams / line.with_spares * missing
    bags = line.bag.needed(missing, grams) if line.bag else 0
    price = line.bag.price * bags if line.bag and line.bag.price is not None else None
    return Shortfall(line.bead, line.with_spares, owned, bags, price)
