"""Coins by their published measures, from `coins.csv`, which names the source of each figure."""

from __future__ import annotations

from dataclasses import dataclass
from difflib import get_close_matches
from functools import cache
from pathlib import Path

from img2plate.base.csv_rows import read_csv
from img2plate.base.errors import FigureError, OptionError

COINS_FILE = Path(__file__).with_name("coins.csv")


@dataclass(frozen=True)
class Coin:
    """One coin. Of several printed thicknesses the largest is kept: a slot must let all pass."""

    country: str
    name: str
    diameter_mm: float
    thickness_mm: float
    source: str

    @property
    def label(self) -> str:
        """Country and denomination, as `EU 2 euro`."""
        return f"{self.country} {self.name}"


@cache
def read_coins() -> tuple[Coin, ...]:
    """All coins of the data file, in its order."""
    columns = ("country", "denomination", "diameter_mm", "largest_printed_thickness_mm")
    rows = [
        row.cells for row in read_csv(COINS_FILE, "coins", columns, FigureError, unique="").rows
    ]
    return tuple(
        Coin(
            row["country"],
            row["denomination"],
            float(row["diameter_mm"]),
            float(row["largest_printed_thickness_mm"]),
            f"{row['publisher']}: {row['value_kind']}; diameter {row['diameter_verification']};"
            f" thickness {row['thickness_verification']}",
        )
        for row in rows
    )


def find_coin(text: str) -> Coin:
    """Find a coin by `EU 2 euro`, or by `2 euro` when one country alone has it.

    Of two rows for one coin the larger is taken. Raises OptionError with near names.
    """
    wanted = " ".join(text.lower().split())
    found = [c for c in read_coins() if wanted in (c.label.lower(), c.name.lower())]
    countries = sorted({coin.country for coin in found})
    if len(countries) > 1:
        raise OptionError(f"coin {text!r} is one of several: say {countries[0]} {found[0].name}"
                          f" ({', '.join(countries)} have it)")  # fmt: skip
    if not found:
        labels = {coin.label.lower(): coin.label for coin in read_coins()}
        labels |= {coin.name.lower(): coin.label for coin in read_coins()}
        near = [labels[name] for name in get_close_matches(wanted, labels, n=3, cutoff=0.5)]
        hint = f"; near it: {', '.join(near)}" if near else ""
        raise OptionError(f"no coin {text!r} is known{hint} ", field="coin", remedy="see `coins`")
    return max(found, key=lambda coin: (coin.diameter_mm, coin.thickness_mm))
