"""What is done to a plate once its beads are chosen."""

from __future__ import annotations

import click

from img2plate.ui.cli.shared.command import headed
from img2plate.ui.cli.shared.types import REPEAT, Suggested

_option = headed("Finish")
FINISH_OPTIONS = [
    _option(
        "--rotate",
        type=click.IntRange(0, 270),
        default=0,
        metavar="90|180|270",
        help="Turn the plate clockwise.",
    ),
    _option(
        "--mirror",
        type=click.Choice(["left-right", "top-bottom"]),
        help="Mirror the plate.",
    ),
    _option(
        "--repeat",
        type=REPEAT,
        metavar="CxR[:half|:half-drop]",
        help="C x R times beside each other; half moves every second row half a plate aside,"
        " half-drop every second column down.",
    ),
    _option(
        "--join",
        type=Suggested("join", "outline", "backing", "bridges"),
        default="",
        metavar="outline|backing|bridges[:COLOUR]",
        help="Make one piece of it: an outline, a backing between the pieces, or the fewest beads"
        " that join them.",
    ),
    _option(
        "--outline",
        default="",
        metavar="CODE[:N]",
        help="A line of this colour round all beads, N beads wide (1).",
    ),
    _option("--border", default="", metavar="N:CODE", help="N rows along the plate's sides."),
    _option(
        "--loop",
        default="",
        metavar="N[:CODE][:top|middle]",
        help="A hole of N x N cells to hang it by, with beads round it, at the top or the middle.",
    ),
    _option(
        "--grow",
        is_flag=True,
        help="The plate may grow for the outline, the border and the hole; else it keeps its size.",
    ),
]
