"""A plate document turned, repeated, joined, edged or hung, and its pack."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from img2plate.pipeline.options import PackOptions, Progress, quiet
from img2plate.pipeline.pack import Pack, write_plate_pack
from img2plate.pipeline.sheets import read_document
from img2plate.plate.finish.finish import FinishOptions, finish

__all__ = ["FinishOptions", "Pack", "run"]


def run(
    document: Path,
    wishes: FinishOptions,
    options: PackOptions,
    *,
    palette: str = "",
    name: str = "",
    progress: Progress | None = None,
) -> Pack:
    """Finish a document's plate and write the pack `name`, else NAME-finish."""
    (progress or quiet)("reading", 0.0)
    plate = read_document(document, options, palette)
    done = finish(replace(plate, name=name or f"{plate.name}-finish"), wishes)
    return write_plate_pack(done.plate, options, notes=done.notes, progress=progress)
