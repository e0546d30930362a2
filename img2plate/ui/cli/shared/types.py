"""What options take: text is turned into the library's types here, and nowhere else.

The library is imported when a value is read, so that `--help` stays fast.
"""

# ruff: noqa: ARG001, ARG002 (click gives methods and callbacks more than these need)
from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import click
from click.shell_completion import CompletionItem

from img2plate.base.errors import Img2PlateError

FILES = click.Path(path_type=Path)
FILE = click.Path(path_type=Path, dir_okay=False)
PAPER_NAMES = ("A4", "A3", "Letter", "Tabloid")


class Parsed(click.ParamType):  # type: ignore[type-arg]
    """Text that a function of the library reads; values of other types are taken as they are."""

    def __init__(self, name: str, parse: Callable[[str], Any]) -> None:
        self.name = name
        self._parse = parse

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        """Read a value; what is wrong with it is told in one line that names the option."""
        if not isinstance(value, str):
            return value
        try:
            return self._parse(value)
        except Img2PlateError as error:
            self.fail(error.words, param, ctx)


def _board(text: str) -> Any:
    from img2plate.base.lengths import parse_boards

    return parse_boards(text)


def _pair(text: str) -> Any:
    from img2plate.base.lengths import parse_pair

    return parse_pair(text)


def _mm_pair(text: str) -> Any:
    from img2plate.base.lengths import parse_mm_pair

    return parse_mm_pair(text)


def _crop(text: str) -> Any:
    from img2plate.image.sizing import parse_crop

    return parse_crop(text)


def _box(text: str) -> Any:
    from img2plate.image.sizing import parse_box

    return parse_box(text)


def _frame(text: str) -> Any:
    from img2plate.base.errors import OptionError

    if text != "all" and not text.isdigit():
        raise OptionError("is not a number or all", value=text)
    return text if text == "all" else int(text)


def _rulers(text: str) -> Any:
    from img2plate.base.printer import parse_rulers

    return parse_rulers(text)


def _rounds(text: str) -> Any:
    from img2plate.split.rounds_by_hand import parse_rounds

    return parse_rounds(text)


def _repeat(text: str) -> Any:
    from img2plate.plate.finish.turn import parse_repeat

    return parse_repeat(text)


def _place(text: str) -> Any:
    from img2plate.pipeline.letters import parse_place

    return parse_place(text)


def _bead(text: str) -> Any:
    from img2plate.base.bead import parse_bead

    return parse_bead(text)


def _measured(text: str) -> Any:
    from img2plate.solid.fit.measured import parse_measured

    return parse_measured(text)


def _licence(text: str) -> Any:
    from img2plate.base.licences import find_licence

    return find_licence(text).id if text.strip() else ""


BOARD = Parsed("board", _board)
PAIR = Parsed("pair", _pair)
MM_PAIR = Parsed("mm", _mm_pair)
CROP = Parsed("crop", _crop)
BOX = Parsed("box", _box)
FRAME = Parsed("frame", _frame)
RULERS = Parsed("rulers", _rulers)
ROUNDS = Parsed("rounds", _rounds)
REPEAT = Parsed("repeat", _repeat)
PLACE = Parsed("place", _place)
BEAD = Parsed("bead", _bead)
MEASURED = Parsed("measured", _measured)
LICENCE = Parsed("licence", _licence)


class PaperType(click.Choice[str]):
    """One of the papers, by its name in large or small letters."""

    def __init__(self, names: tuple[str, ...] = PAPER_NAMES) -> None:
        super().__init__(names, case_sensitive=False)

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        """Turn a name into the paper."""
        from img2plate.base.lengths import Paper, find_paper

        return value if isinstance(value, Paper) else find_paper(super().convert(value, param, ctx))


class PaletteType(click.ParamType):  # type: ignore[type-arg]
    """A bundled palette by name, or a file."""

    name = "palette"

    def shell_complete(
        self, ctx: click.Context, param: click.Parameter, incomplete: str
    ) -> list[CompletionItem]:
        """Names of the bundled palettes that begin so; where none does, files.

        Not both: in bash, files would take the place of the names.
        """
        from img2plate.colour.palette_file import bundled_names

        names = [CompletionItem(name) for name in bundled_names() if name.startswith(incomplete)]
        return names or [CompletionItem(incomplete, type="file")]


PAPER = PaperType()
PALETTE = PaletteType()


class Suggested(click.ParamType):  # type: ignore[type-arg]
    """Any word; the shell offers those that are known. The library says what is wrong with one."""

    def __init__(self, name: str, *words: str) -> None:
        self.name = name
        self.words = words

    def shell_complete(
        self, ctx: click.Context, param: click.Parameter, incomplete: str
    ) -> list[CompletionItem]:
        """The known words that begin so."""
        return [CompletionItem(word) for word in self.words if word.startswith(incomplete)]


class SeamsType(Suggested):
    """A way of laying seams, or where they lie; checked as far as it can be without a plate."""

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        """Refuse what says nothing; the text stays as it is."""
        from img2plate.split.by_hand import read_seams

        try:
            read_seams(value)
        except Img2PlateError as error:
            self.fail(error.words, param, ctx)
        return value


SEAMS = SeamsType("seams", "full", "even", "quiet")


class Codes(click.ParamType):  # type: ignore[type-arg]
    """Colour codes, one or several with commas between them."""

    name = "codes"

    def convert(
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> tuple[str, ...]:
        """Take them apart."""
        if isinstance(value, tuple):
            return value
        return tuple(part.strip() for part in value.split(",") if part.strip())


def joined(
    ctx: click.Context, param: click.Parameter, values: tuple[tuple[str, ...], ...]
) -> tuple[str, ...]:
    """Callback of an option that takes codes and may be given more than once: all of them."""
    return tuple(code for codes in values for code in codes)


CODES = Codes()
