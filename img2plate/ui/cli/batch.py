"""`img2plate batch`: packs of many pictures, by the workers of a Dask cluster."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from img2plate.ui.cli.make import FIRST, MAKE_OPTIONS
from img2plate.ui.cli.options.boards import with_bags
from img2plate.ui.cli.shared.command import Command, headed, with_options
from img2plate.ui.cli.shared.each import EachTold, tell_pack, unique_names
from img2plate.ui.cli.shared.gather import gather
from img2plate.ui.cli.shared.types import FILES

_option = headed("Workers")


@click.command(cls=Command, first=FIRST)
@click.argument("pictures", nargs=-1, required=True, type=FILES, metavar="FOLDER|IMAGE...")
@with_options(
    *MAKE_OPTIONS,
    _option(
        "--workers",
        type=click.IntRange(1, 256),
        metavar="N",
        help="Processes on this machine; else one on each core.",
    ),
    _option(
        "--scheduler",
        default="",
        metavar="ADDRESS",
        help="Of a Dask cluster that is running, as tcp://studio:8786, in place of processes here.",
    ),
)
def batch(
    pictures: tuple[Path, ...], as_json: bool, workers: int | None, scheduler: str, **values: Any
) -> None:
    """Make packs of thousands of pictures on a Dask cluster, as make does.

    Pictures whose pack is there, of the same picture, options and version, are left out, so that a
    run that was stopped goes on when it is started again. Needs the extra: pip install
    "img2plate[batch]".

    \b
    img2plate batch pictures --out packs
    img2plate batch pictures --out packs --scheduler tcp://studio:8786
    """
    from img2plate.pipeline.batch import run_many, usual_jobs
    from img2plate.pipeline.cluster import Cluster, pictures_in
    from img2plate.pipeline.options import MakeOptions

    images = pictures_in(pictures)
    options = gather(MakeOptions, with_bags(values))
    cluster = Cluster(workers or usual_jobs(max(len(images), 4)), scheduler)
    with EachTold(len(images), tell_pack, as_json=as_json) as told:
        run_many(images, unique_names(images), options, told, jobs=1, go_on=True, by=cluster)
