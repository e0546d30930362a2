"""The form of settings on the page: a field for each option, made from the option itself."""

from __future__ import annotations

from typing import Any

import click

from img2plate.colour.palette import Palette
from img2plate.colour.palette_file import find_palette
from img2plate.ui.cli.make import make
from img2plate.ui.cli.shared.command import OTHERS, spoken
from img2plate.ui.cli.shared.types import PALETTE, Suggested
from img2plate.ui.worktable.wishes.settings import beads_palettes, called, fields

FIRST = ("source", "width", "boards", "palette", "look", "colours", "background")
"""What matters most, in this order; `source` stands in the sentence on the kind of picture."""
LABELS = {
    "source": "the picture is",
    "width": "beads wide",
    "boards": "to fit on boards",
    "colours": "colours at most",
}
"""What the first fields are called; the others as their options are."""
EXAMPLES = {"boards": "as in 2x2", "board": "29x29", "printer_measured": "100"}
ONLY_WORDS = ("shading", "look", "difference")
"""Options that take nothing but the words they offer."""


def form() -> list[dict[str, Any]]:
    """What a page needs to draw a field for each option."""
    first = [name for name in FIRST if name in fields()]
    names = [*first, *(name for name in fields() if name not in first)]
    return [_field(name, fields()[name]) | {"first": name in first} for name in names]


def _field(name: str, option: click.Option) -> dict[str, Any]:
    """One option for the page."""
    kind, words = _kind(option)
    default = option.default
    shown = str(default) if isinstance(default, str | float) or type(default) is int else ""
    return {
        "name": name,
        "label": LABELS.get(name, called(option).removeprefix("--").replace("-", " ")),
        "option": called(option),
        "heading": getattr(option, "heading", OTHERS),
        "hint": spoken(option.help or "", make),
        "kind": kind,
        "words": words,
        "default": shown,
        "placeholder": EXAMPLES.get(name) or shown or _pattern(option),
    }


def _kind(option: click.Option) -> tuple[str, list[str]]:
    """How an option is asked for, and the words it offers."""
    if option.is_flag:
        return "flag", []
    if option.multiple:
        return "list", []
    if isinstance(option.type, click.Path):
        return "file", []
    if option.type is PALETTE:
        return "palette", list(beads_palettes())
    if isinstance(option.type, click.Choice):
        return "choice", [str(word) for word in option.type.choices]
    if isinstance(option.type, Suggested):
        return ("choice" if option.name in ONLY_WORDS else "words"), list(option.type.words)
    if isinstance(option.type, click.types.IntParamType):
        return "whole", []
    return ("number" if isinstance(option.type, click.types.FloatParamType) else "text"), []


def palettes() -> list[dict[str, Any]]:
    """The bundled palettes."""
    found = [find_palette(name) for name in beads_palettes()]
    return [{"name": palette.name, "beads": swatches(palette)} for palette in found]


def swatches(palette: Palette) -> list[dict[str, str]]:
    """The colours of a palette."""
    return [{"code": bead.code, "name": bead.name, "hex": bead.hex} for bead in palette.beads]


def _pattern(option: click.Option) -> str:
    """What stands in a field that is empty."""
    pattern = option.metavar or ""
    return "as it comes" if pattern in ("", "N") else pattern
