"""Commands whose options stand under headings in the help, and whose errors name options."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar

import click

from img2plate.base.errors import FIELD, Img2PlateError

FunctionT = TypeVar("FunctionT", bound=Callable[..., Any])
Option = Callable[[FunctionT], FunctionT]
OFTEN = "Used most"
OTHERS = "Other options"


class HeadedOption(click.Option):
    """An option that stands under a heading of the help."""

    def __init__(
        self, *args: Any, heading: str = OTHERS, often: bool = False, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.heading = OFTEN if often else heading
        """Those that are used `often` come first, whatever they are about."""


class Command(click.Command):
    """A command with headings in its help, which tells errors in the words of its options."""

    def invoke(self, ctx: click.Context) -> Any:
        """Run it, and turn a known error into one line and its exit code."""
        try:
            return super().invoke(ctx)
        except Img2PlateError as error:
            raise Told(spoken(str(error)), int(error.exit_code)) from error

    def format_options(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """Write the options under their headings, those used most first."""
        sections: dict[str, list[tuple[str, str]]] = {OFTEN: []}
        for parameter in self.get_params(ctx):
            record = parameter.get_help_record(ctx)
            if record is not None and isinstance(parameter, click.Option):
                heading = getattr(parameter, "heading", OTHERS)
                sections.setdefault(heading, []).append(record)
        if len(sections) == 2 and not sections[OFTEN]:  # nothing to tell apart
            sections = {"Options": next(records for records in sections.values() if records)}
        sections[OTHERS] = sections.pop(OTHERS, [])  # last
        for heading, records in sections.items():
            if records:
                with formatter.section(heading):
                    formatter.write_dl(records)


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
    """Return `click.option` for options under a heading; `often=True` puts one among the first."""

    def option(*names: str, often: bool = False, **how: Any) -> Option[Any]:
        return click.option(*names, cls=HeadedOption, heading=heading, often=often, **how)

    return option


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
