"""Where things are written, and in which form."""

from __future__ import annotations

from typing import Any

import click

from img2plate.ui.cli.shared.command import Option, headed
from img2plate.ui.cli.shared.types import FILES, LICENCE

_option = headed("Output")


def out_option(text: str, default: str | None = "packs", metavar: str = "DIR") -> Option[Any]:
    """`--out`, where a command writes."""
    return _option(
        "--out",
        type=FILES,
        default=default,
        show_default=default is not None,
        metavar=metavar,
        help=text,
    )


def json_option(what: str) -> Option[Any]:
    """`--json`: one line for programs on standard output."""
    return _option("--json", "as_json", is_flag=True, help=f"One JSON object{what}, on stdout.")


def name_option(text: str) -> Option[Any]:
    """`--name` of what is written."""
    return _option("--name", default="", help=text)


def credit_options(titled: str) -> list[Option[Any]]:
    """`--title`, `--author`, `--licence`."""
    return [
        _option("--title", default="", metavar="TEXT", help=titled),
        _option("--author", default="", metavar="NAME", help="Whose work it is."),
        _option(
            "--licence",
            type=LICENCE,
            default="",
            metavar="ID",
            help="What others may do with it, as in SPDX's list: CC-BY-4.0.",
        ),
    ]


ZIP_OPTION = _option("--zip", is_flag=True, help="Also the pack as one zip file beside it.")
PACK_OUTPUT_OPTIONS = [
    out_option("Folder for the packs; each is a folder in it, named as its picture."),
    json_option(" a pack"),
    ZIP_OPTION,
    *credit_options("Of the plate, kept in plate.png."),
]
YES_OPTION = _option(
    "--yes",
    is_flag=True,
    help="Make plates of over 20,000 beads or 24 hours without asking on a terminal.",
)
MANY_OPTIONS = [
    _option(
        "--jobs",
        type=click.IntRange(1, 256),
        metavar="N",
        help="Of several pictures, N at a time; else one on each core.",
    ),
    _option(
        "--continue",
        "go_on",
        is_flag=True,
        help="Leave out pictures whose pack is there, of the same picture, options and version.",
    ),
]
"""How many pictures are made."""
