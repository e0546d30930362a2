"""A picture file becomes a pack.

picture file -> Target -> Plate -> Split, Counts -> pack
"""

from __future__ import annotations

import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from pathlib import Path

from img2plate.base.files import safe_file
from img2plate.image.png import write_rgba_png
from img2plate.pipeline.draft import Draft, draft_plate
from img2plate.pipeline.options import MakeOptions, Progress, quiet
from img2plate.pipeline.pack import Pack, write_pack

__all__ = ["MakeOptions", "Pack", "run"]


def run(
    image: Path,
    options: MakeOptions,
    *,
    name: str = "",
    progress: Progress | None = None,
    ask: Callable[[str], bool] | None = None,
) -> Pack:
    """Turn a picture file into a pack named `name` (else as the picture) in `options.pack.out`.

    `ask` decides on a very large plate, see `draft_plate`.
    """
    start, tell = time.perf_counter(), progress or quiet
    draft = draft_plate(image, options, name=name, progress=tell, ask=ask)
    folder = options.pack.out / (name or image.stem)
    notes = (*draft.notes, *_write_check(draft, folder))
    with ThreadPoolExecutor(1) as beside:  # filters and sheets each keep one core busy
        looks = beside.submit(draft.looks)
        pack = write_pack(draft.plate, options.pack, folder, notes, start, tell)
        return replace(pack, looks=looks.result(), seconds=time.perf_counter() - start)


def _write_check(draft: Draft, folder: Path) -> tuple[str, ...]:
    """Write the picture to check a photo's subject by beside the pack; returns a note of it."""
    if draft.check is None:
        return ()
    path = folder.with_name(f"{folder.name}-subject.png")
    with safe_file(path) as temporary:
        write_rgba_png(temporary, draft.check)
    return (f"{path} shows the subject as it was seen; `subject` draws a box round it",)
