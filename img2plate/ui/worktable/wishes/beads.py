"""Settings of the beads: another palette, what is owned, and what stays when a proof is taken."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from img2plate.base.errors import OptionError, PaletteError, StockError
from img2plate.colour.palette import Palette
from img2plate.colour.palette_file import read_palette
from img2plate.inventory.stock import read_stock
from img2plate.tally.bags import read_bags
from img2plate.ui.worktable.wishes.files import Files
from img2plate.ui.worktable.wishes.settings import OWNED, Settings, palette_in

OF_THE_BEADS = (
    "only", "without", "finish", OWNED, "stock", "stock_advice", "bag", "bag_price",
    "spare_percent",
)  # fmt: skip
"""What stays when another plate of the picture is taken, as far as it goes with its palette."""
STOCK_NAME = "stock.csv"
MOST_COLOURS = 500
"""Of a palette on the page, where each has a row."""
ENDINGS = {"palette": (".csv", ".gpl"), "stock": (".csv",), "bag": (".csv",)}
"""Of the names of files, by the setting that names them."""


def check_file(field: str, path: Path) -> None:
    """Read a file that a setting is to name. Raises what its kind does when it is wrong."""
    if not path.name.lower().endswith(ENDINGS[field]):
        raise OptionError(
            f"is not the name of a {' or '.join(ENDINGS[field])} file",
            field=field,
            value=path.name,
        )
    if field == "stock":
        read_stock(path)
    elif field == "bag":
        read_bags(path)
    elif len(palette := read_palette(path)) > MOST_COLOURS:
        raise PaletteError(
            f"{path}: {len(palette):,} colours are too many for the page",
            remedy=f"leave {MOST_COLOURS} in it, or use the command line",
        )


def with_palette(settings: Settings, palette: str, files: Files) -> Settings:
    """Another palette, with what goes with it of the rest."""
    return fitted({**settings, "palette": palette}, files)


def with_proof(settings: Settings, proof: Mapping[str, Any], files: Files) -> Settings:
    """The plate of a proof, with the colours and the stock in hand as far as they go with it."""
    stays = {name: settings[name] for name in OF_THE_BEADS if name in settings}
    return fitted({**stays, **proof}, files)


def with_owned(settings: Settings, word: str) -> Settings:
    """Another stock, or none for an empty word; a plate that keeps to a stock keeps to this one."""
    names = ("stock", "stock_advice", OWNED)
    rest: Settings = {name: value for name, value in settings.items() if name not in names}
    if not word:
        return rest
    new: Settings = {**settings, OWNED: word}
    return {**new, "stock": word} if "stock" in settings else new


def stock_file(owned: Mapping[str, Any], palette: Palette) -> bytes:
    """A stock file of the numbers that were written beside colours; empty when there are none.

    Raises OptionError for other codes, StockError for what is not a number of beads.
    """
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(["code", "count"])
    rows = {code: str(count).strip() for code, count in owned.items()}
    for code in sorted(rows, key=lambda code: palette.index(code, "stock")):
        if not re.fullmatch(r"\d{0,9}", rows[code], re.ASCII):
            raise StockError(f"{code}: {rows[code][:40]!r} is not a whole number of beads")
        if rows[code]:
            writer.writerow([code, int(rows[code])])
    return text.getvalue().encode() if any(rows.values()) else b""


def fitted(settings: Mapping[str, Any], files: Files) -> Settings:
    """Settings without what does not go with their palette: codes, finishes, a stock.

    Raises OptionError and PaletteError for what is wrong otherwise.
    """
    found = dict(settings)
    palette = palette_in(found, files)
    finishes = {bead.finish for bead in palette.beads}
    for name, known in (("only", palette.by_code), ("without", palette.by_code),
                        ("finish", finishes), ("scatter", palette.by_code)):  # fmt: skip
        words = _words(found.pop(name, []))
        if words := [word for word in words if _codes(name, word) <= set(known)]:
            found[name] = words
    for name in ("stock", OWNED):
        if name in found and not _has_all(palette, files.path(str(found[name]), name)):
            del found[name]
    if "stock" not in found:
        found.pop("stock_advice", None)
    return found


def _words(value: Any) -> list[str]:
    """The words of a setting that may be given more than once."""
    some = value if isinstance(value, list) else [value]
    return [word for each in some for word in re.split(r"[\s,]+", str(each)) if word]


def _codes(name: str, word: str) -> set[str]:
    """The codes in a word; of a scatter CODE:COMPANION:PERCENT two."""
    return {part for part in word.split(":")[:2] if part} if name == "scatter" else {word}


def _has_all(palette: Palette, path: Path) -> bool:
    """Whether all codes of a stock are the palette's."""
    return set(read_stock(path).counts) <= set(palette.by_code)
