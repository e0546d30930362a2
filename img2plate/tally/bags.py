"""Bags to buy: how many beads, or grams, a bag holds, and what it costs."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal, InvalidOperation
from math import ceil
from pathlib import Path

from img2plate.base.csv_rows import read_csv
from img2plate.base.errors import OptionError

OTHERS = "*"
"""In a file of bags: all colours without a row."""


@dataclass(frozen=True)
class Bag:
    """A bag as it is sold; by beads or by weight."""

    beads: int = 0
    grams: float = 0.0
    """Used when `beads` is 0."""
    price: Decimal | None = None
    """Of one bag, in whatever money the user means."""

    @property
    def words(self) -> str:
        """`1000 beads` or `60 g`."""
        return f"{self.beads} beads" if self.beads else f"{self.grams:g} g"

    def holds(self, grams_each: float) -> int:
        """Beads of such a weight in a bag, at least 1."""
        return self.beads or max(1, int(self.grams / grams_each))

    def needed(self, beads: int, grams: float) -> int:
        """Bags that hold so many beads of one colour, of such a weight."""
        return -(-beads // self.beads) if self.beads else ceil(round(grams / self.grams, 6))


@dataclass(frozen=True)
class Bags:
    """The bags that each colour is sold in."""

    usual: Bag | None
    """Of all colours without an own one; None when the user states none."""
    own: Mapping[str, Bag] = field(default_factory=dict)
    """By code."""

    def of(self, code: str) -> Bag | None:
        """The bag of a colour."""
        return self.own.get(code, self.usual)

    @property
    def priced(self) -> bool:
        """Whether any bag has a price."""
        return any(bag.price is not None for bag in (self.usual, *self.own.values()) if bag)

    @property
    def words(self) -> str:
        """`bags of 1000 beads`, or just `bags` when they differ."""
        return "bags" if self.own or not self.usual else f"bags of {self.usual.words}"


def parse_bags(size: str, price: str) -> Bags | None:
    """Read `1000` or `60g`, and `2.40`, or a file of both; None when neither is given.

    Raises OptionError for sizes and prices that make no sense, for a price without a size, and for
    a file that is wrong.
    """
    if not size:
        if price:
            raise OptionError(
                "needs the size of a bag",
                field="bag_price",
                remedy="also give `bag`, as 1000 or 60g",
            )
        return None
    if size.lower().endswith(".csv"):
        if price:
            raise OptionError(
                f"{size} says the prices", field="bag_price", remedy="leave one of them out"
            )
        return read_bags(Path(size))
    return Bags(_parse_bag(size, price))


def read_bags(path: Path) -> Bags:
    """Read a CSV `code,bag,price`: bags as in `1000` or `60g`; the code * stands for all others.

    Raises OptionError with file, row, column and reason: it is the option's value that is wrong.
    """
    found = dict[str, Bag]()
    for row in read_csv(path, "file of bags", ("code", "bag"), OptionError).rows:
        try:
            found[row.cells["code"]] = _parse_bag(row.cells["bag"], row.cells.get("price", ""))
        except OptionError as error:
            column = error.field.removeprefix("bag_") or "bag"
            raise OptionError(f"{path}, row {row.number}, column {column}: {error.words}") from None
    usual = found.pop(OTHERS, None)
    return Bags(usual, found)


def _parse_bag(size: str, price: str) -> Bag:
    """Read a bag. Raises OptionError."""
    match = re.fullmatch(r"\s*(\d+(?:\.\d+)?)\s*(g|beads)?\s*", size)
    if not match or float(match[1]) <= 0 or ("." in match[1] and match[2] != "g"):
        raise OptionError(
            "is not a number of beads, as in 1000, nor grams, as in 60g", field="bag", value=size
        )
    paid = _parse_price(price)
    if match[2] == "g":
        return Bag(grams=float(match[1]), price=paid)
    return Bag(beads=int(match[1]), price=paid)


def _parse_price(text: str) -> Decimal | None:
    """Read a price; None when there is none. Raises OptionError."""
    if not text:
        return None
    try:
        price = Decimal(text)
    except InvalidOperation:
        price = Decimal(-1)
    if not price.is_finite() or price < 0:
        raise OptionError("is not a price, as in 2.40", field="bag_price", value=text)
    return price
