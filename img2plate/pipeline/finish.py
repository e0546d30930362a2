"""A plate document turned, repeated, joined, edged or hung, and its pack."""

from __future__ import annotations

from collections.abc import Collection
from functools import partial
from pathlib import Path

from img2plate.pipeline.options import PackOptions, Progress
from img2plate.pipeline.pack import Pack
from img2plate.pipeline.sheets import write_changed
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
    return write_changed(
        document, "finish", partial(finish, options=wishes), options,
        palette=palette, name=name, given=given, progress=progress,
    )  # fmt: skip
