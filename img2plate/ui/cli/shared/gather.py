"""From what a user wrote to the options that the pipeline takes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from typing import Any, TypeVar

import click
from click.core import ParameterSource

OptionsT = TypeVar("OptionsT")


def gather(kind: type[OptionsT], values: Mapping[str, Any], **given: Any) -> OptionsT:
    """Fill a dataclass of options, and those inside it, with the values called as their fields.

    A field without a value keeps its default; `given` are fields that are known already.
    """
    found = dict(given)
    for field in fields(kind):  # type: ignore[arg-type]
        inner = field.default_factory
        if field.name in found:
            continue
        if isinstance(inner, type) and is_dataclass(inner):
            found[field.name] = gather(inner, values)
        elif field.name in values:
            found[field.name] = values[field.name]
    return kind(**found)


def given() -> frozenset[str]:
    """The options that the user of the command that runs gave, by their fields."""
    context = click.get_current_context()
    names = {
        parameter.name
        for parameter in context.command.params
        if context.get_parameter_source(str(parameter.name)) is not ParameterSource.DEFAULT
    }
    return frozenset(
        str(name) for name in names | ({"bags"} if names & {"bag", "bag_price"} else set())
    )
