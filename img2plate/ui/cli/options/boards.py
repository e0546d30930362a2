"""Boards, counts and paper: what a pack is made for."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import click

from img2plate.ui.cli.shared.command import headed, refused
from img2plate.ui.cli.shared.types import BOARD, PAPER, PAPER_NAMES, ROUNDS, RULERS, SEAMS

_option = headed("Boards and paper")
BAG_OPTIONS = [
    _option(
        "--bag",
        default="",
        metavar="N|Ng|FILE",
        help="Beads, or grams, in a bag, or a CSV code,bag,price of them: counts bags to buy.",
    ),
    _option("--bag-price", default="", metavar="P", help="Of one bag: adds up the price."),
]
BOARD_OPTION = _option(
    "--board",
    type=BOARD,
    default="29x29",
    show_default=True,
    metavar="CxR[*N],...",
    help="Pegs of a board; several sizes with how many you own, as 29x29*4,14x14*2.",
)
PITCH_OPTION = _option(
    "--pitch", "pitch_mm", type=float, metavar="MM", help="Peg to peg; else as the palette says."
)
PAPER_OPTION = _option(
    "--paper",
    type=PAPER,
    default="A4",
    show_default=True,
    metavar="|".join(PAPER_NAMES),
    help="What is printed on.",
)
PACE_OPTION = _option(
    "--pace",
    type=float,
    default=900.0,
    show_default=True,
    metavar="N",
    help="Beads that you place in an hour when every second one changes colour: for the hours.",
)
COUNT_OPTIONS = [
    _option(
        "--spare",
        "spare_percent",
        type=float,
        default=5.0,
        show_default=True,
        metavar="PERCENT",
        help="Spare beads of each colour.",
    ),
    PACE_OPTION,
]
THICKNESS_OPTION = _option(
    "--thickness",
    "thickness_mm",
    type=click.FloatRange(0.5, 20),
    default=4.0,
    show_default=True,
    metavar="MM",
    help="Of the pressed plate, for the pressed look.",
)
SEAM_OPTIONS = [
    _option(
        "--seams",
        type=SEAMS,
        default="full",
        show_default=True,
        metavar="full|even|quiet|COLUMNS/ROWS",
        help="Full boards first, balanced tiles, where seams cut the least detail, or by hand:"
        " 29,50/29 is after columns 29 and 50 and after row 29.",
    ),
    _option(
        "--smallest-tile",
        type=int,
        default=4,
        show_default=True,
        metavar="N",
        help="Pegs that a tile keeps at least, with --seams quiet.",
    ),
]
PRINTER_OPTIONS = [
    _option(
        "--printer-measured",
        type=RULERS,
        default="100",
        metavar="MM[xMM]",
        help="What the 100 mm rulers measure on paper: short side x long side of the sheet.",
    ),
    _option(
        "--margin",
        "margin_mm",
        type=float,
        default=8.0,
        show_default=True,
        metavar="MM",
        help="Unprintable margin: how near to the edge of the paper your printer reaches.",
    ),
]
BOARDS_OWNED_OPTION = _option(
    "--boards-owned",
    type=int,
    metavar="N",
    help="Build in rounds on so many boards; else all are at hand.",
)
FRONT_OPTION = _option(
    "--front",
    type=click.Choice(["iron-side", "board-side"]),
    default="iron-side",
    show_default=True,
    help="The side that will be seen: up from the board, or down on it (mirrors the sheets).",
)
RUNS_OPTION = _option("--runs", is_flag=True, help="Pages that read out each row: 12 kelp, 3 foam.")
CUT_OPTIONS = [
    *SEAM_OPTIONS,
    BOARDS_OWNED_OPTION,
    _option(
        "--rounds",
        type=ROUNDS,
        metavar="A1,A2/B1,B2",
        help="Which boards are built in which round, when you want it otherwise.",
    ),
    FRONT_OPTION,
    *PRINTER_OPTIONS,
    RUNS_OPTION,
    _option(
        "--template",
        is_flag=True,
        help="Also sheets with numbers of roles, and a page to choose their beads on.",
    ),
    *BAG_OPTIONS,
]
"""How plates are cut, built and printed."""
PACK_OPTIONS = [
    BOARD_OPTION,
    PITCH_OPTION,
    PAPER_OPTION,
    THICKNESS_OPTION,
    *COUNT_OPTIONS,
    *CUT_OPTIONS,
]
FIGURE_OPTIONS = [
    BOARD_OPTION,
    PAPER_OPTION,
    *COUNT_OPTIONS,
    *SEAM_OPTIONS,
    BOARDS_OWNED_OPTION,
    FRONT_OPTION,
    *PRINTER_OPTIONS,
    RUNS_OPTION,
    *BAG_OPTIONS,
    refused("--rounds", "plates of a figure share no seams, so that any order will do; "
            "--boards-owned says what is laid at one time"),
    refused("--pitch", "it is in the figure's file: pitch in [figure]"),
    refused("--thickness", "it is in the figure's file: thickness in [figure]"),
    refused("--template", "a figure changes its colours by its file: [colourway.NAME], or "
            "--palette", is_flag=True),
]  # fmt: skip
"""What `make` has for boards and paper, and why it has others that make no sense here."""


def with_bags(values: Mapping[str, Any]) -> dict[str, Any]:
    """The values of a command, and the `bags` that `--bag` and `--bag-price` mean together."""
    from img2plate.tally.bags import parse_bags

    return {**values, "bags": parse_bags(values["bag"], values["bag_price"])}
