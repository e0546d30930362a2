"""What the place of the beads shows: the palette's colours, what a plate takes, what is missing."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from img2plate.base.errors import Img2PlateError
from img2plate.colour.palette import Palette
from img2plate.colour.palette_file import read_palette
from img2plate.inventory.stock import Stock, read_stock
from img2plate.pipeline.options import DEFAULT_PALETTE, PackOptions, palette_for
from img2plate.pipeline.stock import Shortfall, shortfall, shortfall_json
from img2plate.plate.limits.choice import ChoiceOptions
from img2plate.tally.counts import ColourCount, Counts, count_amounts
from img2plate.ui.worktable.wishes.files import Files, plain
from img2plate.ui.worktable.wishes.form import swatches
from img2plate.ui.worktable.wishes.settings import (
    NAME_FILES,
    OWNED,
    Settings,
    owned_path,
    read_settings,
)

GREY = 0.03
"""Chroma in OKLab below which a colour is laid among the greys."""
SECTORS = 12
"""Hues that are laid beside each other as one."""


def own_palettes(files: Files) -> list[dict[str, Any]]:
    """The palettes that were added to a project, as `form.palettes` tells the bundled ones."""
    found = [(word, _palette(files.path(word, "palette"))) for word in files.words()]
    return [
        {"word": word, "name": plain(word), "beads": swatches(palette)}
        for word, palette in found
        if palette is not None
    ]


@lru_cache(maxsize=256)
def _palette(path: Path) -> Palette | None:
    """A kept file as a palette, if it is one: what is in it never changes."""
    try:
        return read_palette(path)
    except Img2PlateError:
        return None


def beads_of(settings: Settings, files: Files, facts: Mapping[str, Any] | None) -> dict[str, Any]:
    """All colours of the palette in hand and, when the plate is made, what it takes of them."""
    with files.plainly():
        options = read_settings(settings, files)
        palette = palette_for(options.palette, options.pack.pitch_mm)
        path = owned_path(settings, files)
        stock = read_stock(path) if path else None
        off = _off(palette, options.choice)
    counts = _counts(facts, palette, options.pack) if facts else None
    short = shortfall(counts, stock or _NOTHING) if counts else ()
    about: dict[str, Any] = {
        "palette": settings.get("palette", DEFAULT_PALETTE),
        "beads": _rows(palette, off, counts, stock, short),
        "owned": None if stock is None else _owned(stock),
        "keeps": "stock" in settings,
        "short": shortfall_json(short) if counts else None,
        "sold": options.pack.bags.words if options.pack.bags else "",
        "spare": f"{options.pack.spare_percent:g}%",
        "files": {n: settings[n] for n in (*NAME_FILES, OWNED) if "/" in str(settings.get(n, ""))},
    }
    return about | {"sentence": _sentence(settings, palette, off, stock, short, bool(counts))}


_NOTHING = Stock(Path(), (), (), ",", {}, {})


def _off(palette: Palette, choice: ChoiceOptions) -> dict[str, str]:
    """Why colours may not be used: the setting that switches each off."""
    found: dict[str, str] = {}
    for bead in palette.beads:
        if bead.code in choice.without:
            found[bead.code] = "without"
        elif choice.only and bead.code not in choice.only:
            found[bead.code] = "only"
        elif choice.finish and bead.finish not in choice.finish:
            found[bead.code] = "finish"
    return found


def _counts(facts: Mapping[str, Any], palette: Palette, pack: PackOptions) -> Counts:
    """What a plate takes, by what was noted of it."""
    amounts = {line["code"]: int(line["beads"]) for line in facts["colours"]}
    return count_amounts(palette, amounts, 0, spare_percent=pack.spare_percent, sold=pack.bags)


def _owned(stock: Stock) -> dict[str, int]:
    """How much is owned, in all."""
    return {"beads": stock.beads, "colours": sum(count > 0 for count in stock.counts.values())}


def _rows(
    palette: Palette,
    off: Mapping[str, str],
    counts: Counts | None,
    stock: Stock | None,
    short: tuple[Shortfall, ...],
) -> list[dict[str, Any]]:
    """A row for each colour; its numbers are None as long as they are not known."""
    lines: dict[str, ColourCount] = {c.bead.code: c for c in counts.colours} if counts else {}
    missing = {line.bead.code: line for line in short} if stock else {}
    hue, light = _orders(palette)
    return [
        {
            **about,
            "finish": palette.beads[index].finish,
            "off": off.get(about["code"], ""),
            "hue": int(hue[index]),
            "light": int(light[index]),
            "beads": _beads(lines, about["code"]) if counts else None,
            "owned": stock.counts.get(about["code"]) if stock else None,
            "missing": missing[about["code"]].missing if about["code"] in missing else 0,
        }
        for index, about in enumerate(swatches(palette))
    ]


def _beads(lines: Mapping[str, ColourCount], code: str) -> int:
    return lines[code].beads if code in lines else 0


def _orders(palette: Palette) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """(n,) int64 twice: the place of each colour by hue, greys last, and by lightness, dark first.

    Of a hue the dark ones come first.
    """
    lightness, a, b = palette.oklab.T
    hue = np.floor(np.arctan2(b, a) % (2 * np.pi) / (2 * np.pi) * SECTORS)
    hue[np.hypot(a, b) < GREY] = SECTORS
    place = np.arange(len(palette), dtype=np.int64)
    by_hue, by_light = np.empty_like(place), np.empty_like(place)
    by_hue[np.lexsort((lightness, hue))] = place
    by_light[np.argsort(lightness, kind="stable")] = place
    return by_hue, by_light


def _sentence(
    settings: Settings,
    palette: Palette,
    off: Mapping[str, str],
    stock: Stock | None,
    short: tuple[Shortfall, ...],
    made: bool,
) -> str:
    """What is chosen, in one sentence."""
    words = [plain(str(settings.get("palette", DEFAULT_PALETTE)))]
    all_of_them = len(palette)
    on = all_of_them - len(off)
    words.append(f"{on} of {_many(all_of_them, 'colour')}" if off else _many(on, "colour"))
    if stock is None:
        return ", ".join([*words, "any number of beads"])
    kept = "kept to a stock of" if "stock" in settings else "stock of"
    words.append(f"{kept} {_many(_owned(stock)['colours'], 'colour')}")
    if made and short:
        few = _many(len(short), "colour")
        missing = _many(sum(line.missing for line in short), "bead")
        words.append(f"{few} {'is' if len(short) == 1 else 'are'} short by {missing}")
    elif made:
        words.append("nothing is missing")
    return ", ".join(words)


def _many(number: int, what: str) -> str:
    """`1 bead`, `1,200 beads`."""
    return f"{number:,} {what}{'' if number == 1 else 's'}"
