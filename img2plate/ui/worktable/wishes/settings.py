"""What the page can be told: the options of `img2plate make`, read from the command itself.

Settings are the words a person would write on the command line, by field: `{"width": "58", "trim":
true, "only": ["klp", "foa"]}`; what has its default is left out. They become `MakeOptions` by the
very way of the command line, so that the page makes the same plate. An option added to `make` is on
the page without a further word. A page gives no paths: an option that takes a file names one of the
project's own (see `files`), any other is left out.

Two are no options of `make`: `owned`, the beads that are there, whether the plate keeps to them or
not, which changes no plate; and `touched`, what was done to it by hand.
"""

from __future__ import annotations

import hashlib
import json
import re
import shlex
from collections.abc import Iterable, Mapping
from functools import cache, lru_cache
from pathlib import Path
from typing import Any

import click

from img2plate import __version__
from img2plate.base.errors import Img2PlateError, OptionError, PaletteError, StockError
from img2plate.colour.palette import Palette
from img2plate.colour.palette_file import bundled_names, find_palette
from img2plate.image.kind.kind import Kind
from img2plate.inventory.stock import read_stock
from img2plate.pipeline.options import MakeOptions
from img2plate.pipeline.proposals import NOT_BEADS
from img2plate.ui.cli.make import make
from img2plate.ui.cli.options.boards import with_bags
from img2plate.ui.cli.shared.command import spoken
from img2plate.ui.cli.shared.gather import gather
from img2plate.ui.worktable.wishes.files import Files, is_word, plain

Settings = dict[str, str | bool | list[str]]
NOT_HERE = {
    "out", "as_json", "zip", "yes", "help", "apart", "gap", "frame", "max_megapixels",
    "jobs", "go_on",
}  # fmt: skip
"""Options that say where files are, ask for several plates, or lift a limit."""
NAME_FILES = ("palette", "stock", "bag")
"""Options that may name a file of the project."""
OWNED = "owned"
"""A setting that is no option: a stock file, to tell what is missing."""
TOUCHED = "touched"
"""Another: what was done to the plate by hand (see `touched`)."""
BESIDE = (OWNED, TOUCHED)
OF_THE_PICTURE = (
    "source", "cells", "cell_px", "crop", "background", "subject", "trim", "board", "pitch_mm",
)  # fmt: skip
"""What holds for every plate that is proposed. Colours that are off and the stock do not: they are
of one palette, and proofs would be made anew at each colour that is switched."""
MOST_TEXT = 200
"""Characters in one word of the settings."""


@cache
def fields() -> dict[str, click.Option]:
    """The options on the page by field, in the order of the command's help."""
    return {
        str(option.name): option
        for option in make.params
        if isinstance(option, click.Option)
        and option.name not in NOT_HERE
        and (option.name in NAME_FILES or not isinstance(option.type, click.Path))
    }


@cache
def beads_palettes() -> tuple[str, ...]:
    """The palettes that a page offers, beads before colours of screens."""
    return tuple(sorted(bundled_names(), key=lambda name: (name in NOT_BEADS, name)))


def read_settings(settings: Mapping[str, Any], files: Files | None = None) -> MakeOptions:
    """The options that settings mean; `files` has those that they name.

    Raises OptionError that names the field.
    """
    return gather(MakeOptions, with_bags(_values(settings, files)))


def tidied(settings: Mapping[str, Any]) -> Settings:
    """Settings without what has its default. Raises OptionError for what cannot be read."""
    return dict(_tidied(json.dumps(_clean(settings))))


@lru_cache(maxsize=4096)
def _tidied(text: str) -> Settings:
    """The same, of clean settings as JSON: the command's own parser takes milliseconds."""
    settings = json.loads(text)
    given, usual = _values(settings), _usual()
    return {
        name: word
        for name, word in settings.items()
        if name in BESIDE or given[name] != usual[name]
    }


def checked(settings: Mapping[str, Any], files: Files | None = None) -> Settings:
    """As `tidied`, for what came from a page: also what does not go together is refused.

    Raises OptionError, PaletteError, StockError.
    """
    found = tidied(settings)
    with (files or Files(Path())).plainly():
        options = read_settings(found, files)
        palette = find_palette(options.palette)
        options.choice.allowed(palette)
        options.scatter.wishes(palette)
        options.finish.check(palette)
        options.shading.resolved(Kind.PHOTO)  # a strength that a sprite cannot have is told later
        options.size.wish(options.pack.board, options.pack.pitch_mm or palette.pitch_mm)
        for path in {options.stock, owned_path(found, files)}:
            if path is not None:
                read_stock(path).limits(palette)
    return found


def palette_in(settings: Mapping[str, Any], files: Files) -> Palette:
    """The palette in hand. Raises OptionError, PaletteError."""
    with files.plainly():
        return find_palette(read_settings({"palette": settings.get("palette", "")}, files).palette)


def owned_path(settings: Mapping[str, Any], files: Files | None) -> Path | None:
    """The stock file that tells what is missing; None without one. Raises OptionError."""
    word = _clean(settings).get(OWNED)
    return (files or Files(Path())).path(str(word), OWNED) if word else None


def command_words(settings: Mapping[str, Any]) -> list[str]:
    """The options as they are written on a command line."""
    words: list[str] = []
    for name, option in fields().items():
        value = _clean(settings).get(name)
        if value is True:
            words.append(called(option))
        elif value:
            for word in value if isinstance(value, list) else [plain(str(value))]:
                joined = word.startswith("-")
                words += [f"{called(option)}={word}"] if joined else [called(option), word]
    return words


def command_line(file_name: str, settings: Mapping[str, Any]) -> str:
    """What to write in a terminal for the same plate."""
    name = f"./{file_name}" if file_name.startswith("-") else file_name
    return shlex.join(["img2plate", "make", name, *command_words(settings)])


def key_of(settings: Mapping[str, Any]) -> str:
    """A short name for settings; the same for the same plate of one version."""
    makes = sorted(each for each in settings.items() if each[0] != OWNED)
    text = json.dumps([__version__, dict(makes)], ensure_ascii=False)
    return hashlib.sha256(text.encode()).hexdigest()[:16]


def of_the_picture(settings: Mapping[str, Any]) -> Settings:
    """The part of settings that holds for every plate of the picture."""
    return {name: value for name, value in settings.items() if name in OF_THE_PICTURE}


def error_words(error: Img2PlateError) -> dict[str, str]:
    """An error for the page: its words as on the command line, and the field it stands beside."""
    field = error.field
    for kind, name in ((PaletteError, "palette"), (StockError, "stock")):
        if not field and isinstance(error, kind):
            field = name
    return {
        "field": field if field in (*fields(), *BESIDE) else "",
        "words": spoken(str(error), make),
    }


def told(notes: Iterable[str]) -> list[str]:
    """Notes in the words of the command line."""
    return [spoken(note, make) for note in notes]


@cache
def _usual() -> dict[str, Any]:
    """What the command makes of no settings at all."""
    return _values({})


def called(option: click.Option) -> str:
    """The long name of an option."""
    return max(option.opts, key=len)


def _clean(settings: Mapping[str, Any]) -> Settings:
    """Settings of known fields, of the right JSON types, not empty. Raises OptionError."""
    found: Settings = {}
    for name, value in settings.items():
        option = fields().get(name)
        if name in BESIDE:
            if file := _text(name, value):
                found[name] = file
            continue
        if option is None:
            raise OptionError(f"there is no setting {str(name)[:40]!r}")
        if option.is_flag:
            if not isinstance(value, bool):
                raise OptionError("is not yes or no", field=name)
            word: str | bool | list[str] = value
        elif option.multiple:
            some = value if isinstance(value, list) else re.split(r"[\s,]+", _text(name, value))
            word = [text for each in some if (text := _text(name, each))]
        else:
            word = _text(name, value)
        if word:
            found[name] = word
    return found


def _text(name: str, value: Any) -> str:
    """One word of settings. Raises OptionError."""
    if not isinstance(value, str) or len(value) > MOST_TEXT or not value.isprintable():
        raise OptionError("is not a short line of text", field=name)
    text = value.strip()
    if name == "palette":
        is_known = text in beads_palettes()
    else:
        is_known = name not in ("stock", *BESIDE) and not text.lower().endswith(".csv")
    if text and name in (*NAME_FILES, *BESIDE) and not (is_known or is_word(text)):
        raise OptionError("is not a file of this project", field=name, value=text)
    return text


def _values(settings: Mapping[str, Any], files: Files | None = None) -> dict[str, Any]:
    """What the command makes of settings, by field. Raises OptionError."""
    words = ["picture.png"]
    for name, value in _clean(settings).items():
        if name in BESIDE:
            continue
        if files and name in NAME_FILES and is_word(str(value)):
            value = str(files.path(str(value), name))
        option = called(fields()[name])
        some = value if isinstance(value, list) else [value]
        words += [option if word is True else f"{option}={word}" for word in some]
    try:
        return dict(make.make_context("make", words).params)
    except click.BadParameter as error:
        field = str(error.param.name) if error.param else ""
        raise OptionError(error.message.rstrip("."), field=field) from None
    except click.UsageError as error:
        raise OptionError(error.format_message()) from None
