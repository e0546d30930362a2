"""The pack of a plate document again, perhaps touched up in a pixel editor."""

from __future__ import annotations

from pathlib import Path

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
    progress: Progress | None = None,
) -> Pack:
    """Write a document's pack, named `name`, else as the plate says.

    Raises DocumentError for what is no plate document, and what a pack can be refused for.
    """
    (progress or quiet)("reading", 0.0)
    plate = read_document(document, options, palette)
    return write_plate_pack(plate, options, name=name, progress=progress)


def read_document(document: Path, options: PackOptions, palette: str) -> Plate:
    """Read a plate document, with the palette named, else its own."""
    given = palette_for(palette, options.pitch_mm) if palette else None
    return read_plate(document, given)
