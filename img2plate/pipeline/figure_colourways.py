"""A figure in all its colourways: a pack of each, and one picture of all."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from img2plate.base.errors import FigureError, OptionError
from img2plate.base.files import plain_name, safe_file
from img2plate.pipeline.figure import FigurePack, run
from img2plate.pipeline.options import FigureOptions, Progress

ALL = "all"


def run_ways(
    path: Path,
    options: FigureOptions,
    *,
    progress: Progress | None = None,
    beside: Callable[[str], Path] | None = None,
) -> list[FigurePack]:
    """Make a figure's pack, or for the colourway `all` those of all, as it is described first.

    NAME-colourways.png beside the packs shows them side by side. A colourway that is itself called
    `all` is that one alone. Raises what `figure.run` does.
    """
    from img2plate.solid.file.figure_file import read_figure
    from img2plate.typeset.figure.ways import Way, write_ways

    if options.colourway != ALL:
        return [run(path, options, progress=progress, beside=beside)]
    spec = read_figure(path, palette=options.palette, beside=beside)
    if ALL in spec.colourways:
        return [run(path, options, progress=progress, beside=beside)]
    if options.plates is not None:
        raise OptionError(
            "are of one colourway", field="plates", remedy="name it instead of `colourway` all"
        )
    if not spec.colourways:
        raise FigureError(f"{path} has no colourways; write some as [colourway.NAME]")
    names, packs = ("", *spec.colourways), list[FigurePack]()
    for number, name in enumerate(names):

        def tell(stage: str, done: float, number: int = number) -> None:
            if progress:
                progress(stage, (number + done) / len(names))

        packs.append(run(path, replace(options, colourway=name), progress=tell, beside=beside))
    picture = options.pack.out / f"{plain_name(path.stem)}-colourways.png"
    with safe_file(picture) as temporary:
        ways = zip(names, packs, strict=True)
        write_ways(temporary, spec.name, [Way(n, p.figure, p.missing) for n, p in ways])
    last = packs[-1]
    return [*packs[:-1], replace(last, notes=(*last.notes, f"{picture} shows all colourways"))]
