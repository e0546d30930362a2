"""A picture file becomes a pack.

picture file -> Target -> Plate -> Split, Counts -> pack
"""

from __future__ import annotations

import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from pathlib import Path

from img2plate.base.files import plain_name
from img2plate.pipeline.draft import draft_plate
from img2plate.pipeline.options import MakeOptions, Progress, quiet
from img2plate.pipeline.pack import Pack, write_before_after, write_checks, write_pack
from img2plate.pipeline.several import Part, parts_of

__all__ = ["MakeOptions", "Pack", "run", "run_all"]


def run(
    image: Path,
    options: MakeOptions,
    *,
    name: str = "",
    progress: Progress | None = None,
    ask: Callable[[str], bool] | None = None,
) -> Pack:
    """Turn a picture file into a pack named `name` (else as the picture) in `options.pack.out`.

    `ask` decides on a very large plate, see `draft_plate`. Of a file with several sprites or frames
    the first is made; `run_all` makes them all.
    """
    return run_all(image, options, name=name, progress=progress, ask=ask, most=1)[0]


def run_all(
    image: Path,
    options: MakeOptions,
    *,
    name: str = "",
    progress: Progress | None = None,
    ask: Callable[[str], bool] | None = None,
    most: int | None = None,
) -> list[Pack]:
    """As `run`, a pack for each sprite or frame that `options.several` asks for, `most` at most."""
    packs = []
    for part in parts_of(image, options.source, options.several)[:most]:
        own = replace(options, source=part.source)
        packs.append(_make(image, own, part, (name or image.stem) + part.name, progress, ask))
    return packs


def _make(
    image: Path,
    options: MakeOptions,
    part: Part,
    name: str,
    progress: Progress | None,
    ask: Callable[[str], bool] | None,
) -> Pack:
    """Make one pack."""
    start, tell = time.perf_counter(), progress or quiet
    draft = draft_plate(image, options, name=name, progress=tell, read=part.read, ask=ask)
    folder = options.pack.out / plain_name(name)
    notes = (
        *draft.notes,
        *write_checks(draft.check, draft.part_check, folder),
        *write_before_after(draft.before, draft.chosen or draft.plate, folder),
    )
    with ThreadPoolExecutor(1) as beside:  # filters and sheets each keep one core busy
        looks = beside.submit(draft.looks)
        pack = write_pack(draft.plate, options.pack, folder, notes, start, tell)
        return replace(pack, looks=looks.result(), seconds=time.perf_counter() - start)
