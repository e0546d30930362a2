"""The pack of a plate document again, perhaps touched up in a pixel editor."""

from __future__ import annotations

from collections.abc import Collection
from pathlib import Path

from img2plate.pipeline.laid import as_laid
from img2plate.pipeline.options import PackOptions, Progress, palette_for, quiet
from img2plate.pipeline.pack import Pack, write_plate_pack
from img2plate.plate.document import read_plate
from img2plate.plate.plate import Plate


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


def read_document(document: Path, options: PackOptions, palette: str) -> Plate:
    """Read a plate document, with the palette named, else its own."""
    given = palette_for(palette, options.pitch_mm) if palette else None
    return read_plate(document, given)
