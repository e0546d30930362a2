"""A plate document turned, repeated, joined, edged or hung, and its pack."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace
from pathlib import Path

from img2plate.pipeline.laid import as_laid
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
    given: Collection[str] | None = None,
    progress: Progress | None = None,
) -> Pack:
    """Finish a document's plate and write the pack `name`, else NAME-finish.

    It is laid out as the plate was, but for the fields `given`, as in `sheets.run`.
    """
    (progress or quiet)("reading", 0.0)
    plate = read_document(document, options, palette)
    done = finish(replace(plate, name=name or f"{plate.name}-finish"), wishes)
    options, notes = as_laid(plate, options, given, resized=done.plate.size != plate.size)
    return write_plate_pack(done.plate, options, notes=(*done.notes, *notes), progress=progress)
