"""A picture file becomes a pack.

picture file -> Target -> Plate -> Split, Counts -> pack
"""

from __future__ import annotations

import time
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from pathlib import Path

from img2plate.pipeline.draft import draft_plate
from img2plate.pipeline.options import MakeOptions, Progress, quiet
from img2plate.pipeline.pack import Pack, write_pack

__all__ = ["MakeOptions", "Pack", "run"]


def run(
    image: Path, options: MakeOptions, *, name: str = "", progress: Progress | None = None
) -> Pack:
    """Turn a picture file into a pack named `name` (else as the picture) in `options.pack.out`."""
    start, tell = time.perf_counter(), progress or quiet
    draft = draft_plate(image, options, name=name, progress=tell)
    folder = options.pack.out / (name or image.stem)
    with ThreadPoolExecutor(1) as beside:  # filters and sheets each keep one core busy
        looks = beside.submit(draft.looks)
        pack = write_pack(draft.plate, options.pack, folder, draft.notes, start, tell)
        return replace(pack, looks=looks.result(), seconds=time.perf_counter() - start)
