"""How beads are chosen, and scattered by hand."""

from __future__ import annotations

import click

from img2plate.ui.cli.shared.command import headed
from img2plate.ui.cli.shared.types import Suggested

_option = headed("Shading")
SHADINGS = Suggested(
    "shading", "auto", "none", "search", "floyd-steinberg", "jarvis-judice-ninke", "stucki",
    "burkes", "sierra", "atkinson", "bayer", "blue-noise",
)  # fmt: skip
SHADING_OPTION = _option(
    "--shading",
    type=SHADINGS,
    default="auto",
    show_default=True,
    metavar="NAME",
    help=f"{', '.join(SHADINGS.words[1:])}; auto: search for a photo, else none.",
)
LOOKS = Suggested("look", "balanced", "calm", "true")
LOOK_OPTION = _option(
    "--look",
    type=LOOKS,
    default="balanced",
    show_default=True,
    metavar="calm|balanced|true",
    help="What search aims at: calm has the fewest dots, true the truest tones from across the"
    " room.",
)
SAME_SHADING = [
    _option(
        "--specks",
        type=Suggested("specks", "auto", "any", "few", "none"),
        default="auto",
        show_default=True,
        metavar="any|few|none|PERCENT",
        help="How many beads may have no neighbour of their colour; auto: as --look has it with"
        " search, else any.",
    ),
    _option(
        "--difference",
        type=Suggested("difference", "hyab-hue", "hyab", "ciede2000", "cielab", "oklab"),
        default="hyab-hue",
        show_default=True,
        metavar="NAME",
        help="How --shading none compares colours: hyab-hue, hyab, ciede2000, cielab or oklab.",
    ),
    _option(
        "--keep-apart",
        type=click.FloatRange(min=0),
        default=15.0,
        show_default=True,
        metavar="DE",
        help="How far off a bead may be (CIEDE2000) to keep two colours of a sprite apart.",
    ),
    _option(
        "--strength",
        type=click.FloatRange(0, 1),
        default=1.0,
        show_default=True,
        help="How much of the shading.",
    ),
]
"""What of the shading is the same in all variants of a comparison."""
SEED_OPTION = _option(
    "--seed", type=int, default=0, show_default=True, help="Same seed, same plate."
)
VIEWING_OPTION = _option(
    "--viewing-distance",
    "viewing_distance_m",
    type=float,
    metavar="M",
    help="Metres; search then looks above all from there. Look error: else twice the diagonal.",
)
SCATTER_OPTIONS = [
    _option(
        "--scatter",
        multiple=True,
        metavar="CODE[:COMPANION[:PERCENT]]",
        help="Scatter companion beads over a flat colour. May be given more than once.",
    ),
    _option(
        "--light",
        type=float,
        metavar="DEG",
        help="Scatter lighter towards the light, darker away: 0 from the right, 90 the top.",
    ),
]
