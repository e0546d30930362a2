"""`img2plate make`: a pack from each picture."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from img2plate.ui.cli.options.boards import PACK_OPTIONS, with_bags
from img2plate.ui.cli.options.colours import CHOICE_OPTIONS, EXCHANGE_OPTIONS, PALETTE_OPTION
from img2plate.ui.cli.options.finish import FINISH_OPTIONS
from img2plate.ui.cli.options.output import MANY_OPTIONS, PACK_OUTPUT_OPTIONS, YES_OPTION
from img2plate.ui.cli.options.picture import PICTURE_OPTIONS, SEVERAL_OPTIONS
from img2plate.ui.cli.options.shading import (
    LOOK_OPTION,
    SAME_SHADING,
    SCATTER_OPTIONS,
    SEED_OPTION,
    SHADING_OPTION,
    VIEWING_OPTION,
)
from img2plate.ui.cli.options.size import SIDE_OPTIONS, SIZE_OPTIONS
from img2plate.ui.cli.shared.command import Command, with_options
from img2plate.ui.cli.shared.each import (
    EachTold,
    ask_on_terminal,
    run_each,
    tell_pack,
    unique_names,
)
from img2plate.ui.cli.shared.gather import gather
from img2plate.ui.cli.shared.types import FILES

if TYPE_CHECKING:
    from img2plate.pipeline.options import MakeOptions

FIRST = (
    "palette", "width", "boards", "colours", "stock", "shading", "specks", "board", "paper", "out",
)  # fmt: skip
"""What most people give."""
MAKE_OPTIONS = (
    PALETTE_OPTION,
    PICTURE_OPTIONS,
    SEVERAL_OPTIONS,
    SIDE_OPTIONS,
    SIZE_OPTIONS,
    CHOICE_OPTIONS,
    EXCHANGE_OPTIONS,
    SHADING_OPTION,
    LOOK_OPTION,
    SAME_SHADING,
    SEED_OPTION,
    VIEWING_OPTION,
    SCATTER_OPTIONS,
    FINISH_OPTIONS,
    PACK_OPTIONS,
    PACK_OUTPUT_OPTIONS,
)
"""What a pack is made by."""


@click.command(cls=Command, first=FIRST)
@click.argument("images", nargs=-1, required=True, type=FILES, metavar="IMAGE...")
@with_options(*MAKE_OPTIONS, YES_OPTION, MANY_OPTIONS)
def make(
    images: tuple[Path, ...], as_json: bool, yes: bool, jobs: int | None, go_on: bool, **values: Any
) -> None:
    """Make a pack from each picture: plate, preview, sheets, counts, follow-along page.

    A sprite needs no size: its native grid is found, also when it was enlarged, smoothed or
    compressed, and each native pixel is one bead. A photo without a size gets 58 beads on its
    long side.

    \b
    img2plate make gull.png
    img2plate make harbour.jpg --boards 2x2 --palette sea-96
    img2plate make harbour.jpg --size 58x58 --fit cover --specks none --viewing-distance 3
    img2plate make harbour.jpg --colours 16 --stock my-beads.csv
    img2plate make logo.png --width 40 --background clear --json
    img2plate make pictures/*.png --out packs --continue
    """
    from img2plate.pipeline import make as job
    from img2plate.pipeline.batch import usual_jobs

    options = gather(job.MakeOptions, with_bags(values))
    names, usual = unique_names(images), usual_jobs(len(images))
    if go_on or jobs or usual > 1:
        _make_many(images, names, options, jobs or usual, go_on, as_json)
        return
    run_each(
        images,
        lambda path, name, bar: job.run_all(
            path, options, name=name, progress=bar, ask=ask_on_terminal(yes)
        ),
        tell_pack,
        names=names,
        as_json=as_json,
    )


def _make_many(
    images: tuple[Path, ...],
    names: list[str],
    options: MakeOptions,
    jobs: int,
    go_on: bool,
    as_json: bool,
) -> None:
    """Several pictures: each told as it is done, those that failed once more at the end."""
    from img2plate.pipeline.batch import run_many

    told = EachTold(len(images), tell_pack, as_json=as_json)
    with told:
        run_many(images, names, options, told, jobs=jobs, go_on=go_on)
