"""Bags to buy: how many beads, or grams, a bag holds, and what it costs."""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from math import ceil

from img2plate.base.errors import OptionError


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

    def needed(self, beads: int, grams: float) -> int:
        """Bags that hold so many beads of one colour, of such a weight."""
        return -(-beads // self.beads) if self.beads else ceil(round(grams / self.grams, 6))


def parse_bag(size: str, price: str) -> Bag | None:
    """Read `1000` or `60g`, and `2.40`; None when neither is given.

    Raises OptionError for sizes and prices that make no sense, and for a price without a size.
    """
    if not size:
        if price:
            raise OptionError("--bag-price needs the size of a bag; give --bag 1000 or --bag 60g")
        return None
    match = re.fullmatch(r"\s*(\d+(?:\.\d+)?)\s*(g|beads)?\s*", size)
    if not match or float(match[1]) <= 0 or ("." in match[1] and match[2] != "g"):
        raise OptionError(
            f"--bag: {size!r} is no number of beads, as in 1000, nor grams, as in 60g"
        )
    paid = _parse_price(price)
    if match[2] == "g":
        return Bag(grams=float(match[1]), price=paid)
    return Bag(beads=int(match[1]), price=paid)


def _parse_price(text: str) -> Decimal | None:
    """Read a price; None when there is none."""
    if not text:
        return None
    try:
        price = Decimal(text)
    except InvalidOperation:
        price = Decimal(-1)
    if not price.is_finite() or price < 0:
        raise OptionError(f"--bag-price: {text!r} is no price; give a number, as in 2.40")
    return price
