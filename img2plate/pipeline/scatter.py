"""Companion beads over the flat areas of a plate document, and its pack."""

from __future__ import annotations

from collections.abc import Collection
from functools import partial
from pathlib import Path

from img2plate.pipeline.options import PackOptions, Progress
from img2plate.pipeline.pack import Pack
from img2plate.pipeline.sheets import write_changed
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
    return write_changed(
        document, "scatter", partial(scatter, options=wishes), options,
        palette=palette, name=name, given=given, progress=progress,
    )  # fmt: skip
