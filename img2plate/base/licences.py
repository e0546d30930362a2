"""Licences by the identifiers of SPDX's list, as CC-BY-4.0: what a person may state for a work."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from img2plate.base.errors import OptionError
from img2plate.base.near import did_you_mean

_FILE = "spdx-licences.csv"
"""Its first line says which list it is, and where it is from."""


@dataclass(frozen=True)
class Licence:
    """One licence of the list."""

    id: str
    name: str
    url: str
    """Where its text is; SPDX's own page where the list names none."""


@cache
def licences() -> dict[str, Licence]:
    """All licences of the list, by identifier."""
    text = (files("img2plate.base") / _FILE).read_text(encoding="utf-8")
    rows = csv.DictReader(text.splitlines()[1:])
    return {
        row["id"]: Licence(
            row["id"], row["name"], row["url"] or f"https://spdx.org/licenses/{row['id']}.html"
        )
        for row in rows
    }


def find_licence(text: str) -> Licence:
    """The licence of an identifier, in large or small letters.

    Raises OptionError for one that the list does not have, with those that are near.
    """
    wanted = text.strip()
    for licence in licences().values():
        if licence.id.lower() == wanted.lower():
            return licence
    raise OptionError(
        "is not in SPDX's list of licences",
        field="licence",
        value=wanted[:80],
        remedy=did_you_mean(wanted[:80], licences()) or "name one, such as CC-BY-4.0 or CC0-1.0",
    )


def known_licence(text: str) -> Licence | None:
    """The licence of an identifier; None for words that are none."""
    try:
        return find_licence(text)
    except OptionError:
        return None
