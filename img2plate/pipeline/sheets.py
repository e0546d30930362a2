"""The pack of a plate document again, perhaps touched up in a pixel editor."""

from __future__ import annotations

from collections.abc import Callable, Collection
from dataclasses import replace
from pathlib import Path
from typing import Protocol

from img2plate.pipeline.laid import as_laid
from img2plate.pipeline.options import PackOptions, Progress, palette_for, quiet
from img2plate.pipeline.pack import Pack, write_plate_pack
from img2plate.plate.document import read_plate
from img2plate.plate.plate import Plate


class Changed(Protocol):
    """A plate that was made of another."""

    @property
    def plate(self) -> Plate:
        """The new one."""

    @property
    def notes(self) -> tuple[str, ...]:
        """For people."""


def run(
    document: Path,
    options: PackOptions,
    *,
    palette: str = "",
    name: str = "",
    given: Collection[str] | None = None,
    progress: Progress | None = None,
) -> Pack:
    """Write a document's pack, named `name`, else as the plate says, laid out as the plate was.

    given: fields of the options that hold whatever the plate says, with a note where it says
    otherwise; None for those that differ from the defaults.
    Raises DocumentError for what is no plate document, and what a pack can be refused for.
    """
    (progress or quiet)("reading", 0.0)
    plate = read_document(document, options, palette)
    options, notes = as_laid(plate, options, given)
    return write_plate_pack(plate, options, name=name, notes=notes, progress=progress)


def write_changed(
    document: Path,
    ending: str,
    change: Callable[[Plate], Changed],
    options: PackOptions,
    *,
    palette: str,
    name: str,
    given: Collection[str] | None,
    progress: Progress | None,
) -> Pack:
    """Write the pack of a document's plate as `change` makes it, `name`, else NAME-`ending`.

    It is laid out as the plate was, but for the fields `given`, as in `run`.
    """
    (progress or quiet)("reading", 0.0)
    plate = read_document(document, options, palette)
    done = change(replace(plate, name=name or f"{plate.name}-{ending}"))
    options, notes = as_laid(plate, options, given, resized=done.plate.size != plate.size)
    return write_plate_pack(done.plate, options, notes=(*done.notes, *notes), progress=progress)


def read_document(document: Path, options: PackOptions, palette: str) -> Plate:
    """Read a plate document, with the palette named, else its own."""
    given = palette_for(palette, options.pitch_mm) if palette else None
    return read_plate(document, given)
