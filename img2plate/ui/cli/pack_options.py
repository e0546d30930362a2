"""The options of packs: boards, counts and sheets, shared by the commands that end in one."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from img2plate.ui.cli.shared import FILES

if TYPE_CHECKING:
    from img2plate.pipeline.options import PackOptions
    from img2plate.typeset.pack import SheetOptions

BAG_OPTIONS = [
    click.option(
        "--bag",
        default="",
        metavar="N|Ng|FILE",
        help="Beads, or grams, in a bag, or a CSV code,bag,price of them: counts bags to buy.",
    ),
    click.option("--bag-price", default="", metavar="P", help="Of one bag: adds up the price."),
]
PACK_OPTIONS = [
    click.option(
        "--out",
        type=FILES,
        default="packs",
        show_default=True,
        metavar="DIR",
        help="Folder for the packs; each is a folder in it, named as its picture.",
    ),
    click.option("--json", "as_json", is_flag=True, help="One JSON object a pack, on stdout."),
    click.option(
        "--board", default="29x29", show_default=True, metavar="CxR", help="Pegs of a board."
    ),
    click.option("--pitch", type=float, metavar="MM", help="Peg to peg; else as the palette says."),
    click.option(
        "--paper",
        type=click.Choice(["A4", "A3", "Letter", "Tabloid"], case_sensitive=False),
        default="A4",
        show_default=True,
        help="What the sheets are printed on.",
    ),
    click.option(
        "--thickness",
        type=click.FloatRange(0.5, 20),
        default=4.0,
        show_default=True,
        metavar="MM",
        help="Pressed plate, for the pressed look.",
    ),
    click.option(
        "--spare",
        type=float,
        default=5.0,
        show_default=True,
        metavar="PERCENT",
        help="Beads to have over.",
    ),
    click.option(
        "--seconds-per-bead",
        type=float,
        default=4.0,
        show_default=True,
        help="For the estimate of hours.",
    ),
    click.option(
        "--seams",
        type=click.Choice(["full", "even", "quiet"]),
        default="full",
        show_default=True,
        help="Full boards first, balanced tiles, or where seams cut the least detail.",
    ),
    click.option(
        "--least",
        type=int,
        default=4,
        show_default=True,
        metavar="N",
        help="Pegs that a tile keeps at least, with --seams quiet.",
    ),
    click.option(
        "--boards-owned",
        type=int,
        metavar="N",
        help="Build in rounds on so many boards; else all are at hand.",
    ),
    click.option(
        "--front",
        type=click.Choice(["iron-side", "board-side"]),
        default="iron-side",
        show_default=True,
        help="The side that will be seen: up from the board, or down on it (mirrors the sheets).",
    ),
    click.option(
        "--printer-measured",
        default="",
        metavar="MM[xMM]",
        help="What the 100 mm rulers measure on paper: short side x long side of the sheet.",
    ),
    click.option(
        "--margin",
        type=float,
        default=8.0,
        show_default=True,
        metavar="MM",
        help="White round tile pages that the printer cannot reach.",
    ),
    click.option("--runs", is_flag=True, help="Pages that read out each row: 12 kelp, 3 foam."),
    *BAG_OPTIONS,
    click.option("--zip", "as_zip", is_flag=True, help="Also the pack as one zip file beside it."),
]


def gather_pack(values: dict[str, Any]) -> PackOptions:
    """What a user wrote, as the pipeline takes it."""
    from img2plate.pipeline.options import PackOptions

    return PackOptions(
        out=values["out"],
        board=values["board"],
        pitch_mm=values["pitch"],
        paper=values["paper"],
        thickness_mm=values["thickness"],
        spare_percent=values["spare"],
        seconds_per_bead=values["seconds_per_bead"],
        sheets=_gather_sheets(values),
    )


def _gather_sheets(values: dict[str, Any]) -> SheetOptions:
    """Those of the sheets."""
    from img2plate.typeset.pack import SheetOptions

    return SheetOptions(
        seams=values["seams"],
        least=values["least"],
        boards_owned=values["boards_owned"],
        front=values["front"],
        printer_measured=values["printer_measured"],
        margin_mm=values["margin"],
        runs=values["runs"],
        bag=values["bag"],
        bag_price=values["bag_price"],
        zip=values["as_zip"],
    )
