"""Commands whose options stand under headings in the help, and whose errors name options."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar

import click

from img2plate.base.errors import FIELD, Img2PlateError

FunctionT = TypeVar("FunctionT", bound=Callable[..., Any])
Option = Callable[[FunctionT], FunctionT]
FIRST = "Used most"
OTHERS = "Other options"
HEADINGS = (
    "Picture", "Size", "Colours", "Shading", "Finish", "Boards and paper", "Output", OTHERS,
)  # fmt: skip
"""In this order; before them stand those used most, and headings of a command's own."""
_FEW = 8
"""So many options need no headings."""


class HeadedOption(click.Option):
    """An option that stands under a heading of the help."""

    def __init__(self, *args: Any, heading: str = OTHERS, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.heading = heading


class Command(click.Command):
    """A command with headings in its help, which tells errors in the words of its options."""

    def __init__(self, *args: Any, first: tuple[str, ...] = (), **kwargs: Any) -> None:
        """Make it; `first` names the parameters that are used most."""
        super().__init__(*args, **kwargs)
        self.first = first

    def invoke(self, ctx: click.Context) -> Any:
        """Run it, and turn a known error into one line and its exit code."""
        try:
            return super().invoke(ctx)
        except Img2PlateError as error:
            raise Told(spoken(str(error)), int(error.exit_code)) from error

    def format_options(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """Write the options under their headings."""
        options = [p for p in self.get_params(ctx) if isinstance(p, click.Option)]
        if len(options) <= _FEW:
            super().format_options(ctx, formatter)
            return
        sections = dict[str, list[tuple[str, str]]]()
        for option in options:
            if (record := option.get_help_record(ctx)) is not None:
                sections.setdefault(self._heading(option), []).append(record)
        own = [FIRST, *(heading for heading in sections if heading not in (FIRST, *HEADINGS))]
        for heading in filter(sections.get, (*own, *HEADINGS)):
            with formatter.section(heading):
                formatter.write_dl(sections[heading])

    def _heading(self, option: click.Option) -> str:
        """Where an option stands."""
        return FIRST if option.name in self.first else getattr(option, "heading", OTHERS)


class Told(click.ClickException):
    """An error of the library in one line."""

    def __init__(self, message: str, exit_code: int) -> None:
        super().__init__(message)
        self.exit_code = exit_code  # type: ignore[misc]


class Group(click.Group):
    """A group of such commands."""

    command_class = Command
    group_class = type


def headed(heading: str) -> Callable[..., Option[Any]]:
    """Return `click.option` for options under a heading."""

    def option(*names: str, **how: Any) -> Option[Any]:
        return click.option(*names, cls=HeadedOption, heading=heading, **how)

    return option


def refused(name: str, why: str, *, is_flag: bool = False) -> Option[Any]:
    """An option of other commands that makes no sense for this one: ends in one line that says why.

    It is not in the help.
    """

    def refuse(_context: click.Context, _option: click.Parameter, value: Any) -> None:
        if value:
            raise Told(f"{name} is not for this command: {why}", 2)

    return click.option(
        name, is_flag=is_flag, hidden=True, expose_value=False, callback=refuse, default=None
    )


def with_options(*options: Any) -> Callable[[FunctionT], FunctionT]:
    """Decorate a command with options, in their order; a list stands for all in it."""
    flat = [one for each in options for one in (each if isinstance(each, list) else [each])]

    def decorate(command: FunctionT) -> FunctionT:
        for option in reversed(flat):
            command = option(command)
        return command

    return decorate


def spoken(text: str, command: click.Command | None = None) -> str:
    """Put options where a message or a note of the library names fields.

    A field that is no option of the command (the one that runs, if none is given) is just a word.
    """
    context = click.get_current_context(silent=True)
    command = command or (context.command if context else None)
    names = {p.name: _called(p) for p in command.params} if command else {}
    return FIELD.sub(lambda match: names.get(match[1], match[1]), text)


def _called(parameter: click.Parameter) -> str:
    """What a user calls a parameter."""
    if isinstance(parameter, click.Option):
        return max(parameter.opts, key=len)
    return (parameter.metavar or str(parameter.name)).strip("[].").upper()
