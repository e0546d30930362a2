"""Run a command over several files, and say what came out."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import TYPE_CHECKING

import click

from img2plate.ui.cli.progress import Bar

if TYPE_CHECKING:
    from img2plate.pipeline.pack import Pack


def unique_names(stems: Iterable[str]) -> list[str]:
    """Number the later ones of equal names, so that two pictures do not share a pack."""
    taken: set[str] = set()
    names = []
    for stem in stems:
        name, number = stem, 2
        while name in taken:
            name, number = f"{stem}-{number}", number + 1
        taken.add(name)
        names.append(name)
    return names


def run_each(
    paths: tuple[Path, ...],
    run: Callable[[Path, str, Bar], Pack],
    names: list[str],
    *,
    as_json: bool,
) -> None:
    """Run one after the other; one that fails does not lose the others, but sets the exit code."""
    from img2plate.base.errors import Img2PlateError

    failed = 0
    for path, name in zip(paths, names, strict=True):
        try:
            with Bar(path.name) as bar:
                pack = run(path, name, bar)
        except Img2PlateError as error:
            click.echo(f"img2plate: {error}", err=True)
            failed = failed or error.exit_code
            continue
        if as_json:
            click.echo(json.dumps(pack.as_json(), ensure_ascii=False))
        _tell(pack)
    if failed:
        raise click.exceptions.Exit(int(failed))


def _tell(pack: Pack) -> None:
    """Say in a few lines what was made, and where it is."""
    (width, height), (mm_wide, mm_high) = pack.plate.size, pack.plate.size_mm
    counts, across_down = pack.counts, pack.split.map_size
    click.echo(
        f"{pack.folder}: {width} x {height} cells, {mm_wide / 10:g} x {mm_high / 10:g} cm,"
        f" {counts.beads:,} beads in {len(counts.colours)} colours,"
        f" {across_down[0]} x {across_down[1]} boards, about {counts.hours:.1f} hours",
        err=True,
    )
    if looks := pack.looks:
        click.echo(
            f"  look error {looks.error:.1f} from {looks.distance_m:.1f} m,"
            f" SSIM {looks.similarity:.2f}, {looks.specks:.0%} specks",
            err=True,
        )
    for note in pack.notes:
        click.echo(f"  {note}", err=True)
    click.echo("  print sheets.pdf at 100 %, or open follow.html on a phone", err=True)
