"""Companion beads over the flat areas of a plate document, and its pack."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace
from pathlib import Path

from img2plate.pipeline.laid import as_laid
from img2plate.pipeline.options import PackOptions, Progress, quiet
from img2plate.pipeline.pack import Pack, write_plate_pack
from img2plate.pipeline.sheets import read_document
from img2plate.plate.scatter import ScatterOptions, scatter

__all__ = ["Pack", "ScatterOptions", "run"]


def run(
    document: Path,
    wishes: ScatterOptions,
    options: PackOptions,
    *,
    palette: str = "",
    name: str = "",
    given: Collection[str] | None = None,
    progress: Progress | None = None,
) -> Pack:
    """Scatter over a document's plate and write the pack `name`, else NAME-scatter.

    It is laid out as the plate was, but for the fields `given`, as in `sheets.run`.
    """
    (progress or quiet)("reading", 0.0)
    plate = read_document(document, options, palette)
    scattered = scatter(replace(plate, name=name or f"{plate.name}-scatter"), wishes)
    options, notes = as_laid(plate, options, given)
    notes = (*scattered.notes, *notes)
    return write_plate_pack(scattered.plate, options, notes=notes, progress=progress)
