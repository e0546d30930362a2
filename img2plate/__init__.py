"""img2plate: from a picture to a fuse-bead plate.

The rooms, in the order in which the data passes through them. A room imports only rooms above it.

    base/        errors and exit codes, lengths, paper, bead sizes, safe file writing
    colour/      sRGB <-> linear <-> Lab/OKLab, differences, Palette, look error
    image/       image file -> clean picture -> Grid
    inventory/   stock file -> Stock (beads owned)
    measure/     photo of real beads on a card -> palette
    plate/       Grid + Palette -> Plate: matching and shading; the plate document
    solid/       figures: fit, boxes, joints, openings, joins -> several Plates, checked
    split/       Plate -> Tiles: seams, registration marks
    tally/       Plate, Tiles -> counts, weight, time
    typeset/     everything that is looked at: pictures, true-scale PDF, follow-along page
    pipeline/    options, drafts, packs; one module for each command; what every front end calls
    ui/          command line, worktable
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from img2plate.base.errors import Img2PlateError as Img2PlateError
    from img2plate.base.lengths import Board as Board
    from img2plate.base.lengths import find_paper as find_paper
    from img2plate.colour.palette import Bead as Bead
    from img2plate.colour.palette import Palette as Palette
    from img2plate.colour.palette_file import find_palette as find_palette
    from img2plate.pipeline.options import MakeOptions as MakeOptions
    from img2plate.pipeline.options import PackOptions as PackOptions
    from img2plate.pipeline.options import SizeOptions as SizeOptions
    from img2plate.pipeline.pack import Pack as Pack
    from img2plate.plate.document import read_plate as read_plate
    from img2plate.plate.document import write_plate as write_plate
    from img2plate.plate.plate import Plate as Plate

__version__ = "0.1.0"

_HOMES = {
    "Bead": "colour.palette",
    "Board": "base.lengths",
    "MakeOptions": "pipeline.options",
    "Pack": "pipeline.pack",
    "find_paper": "base.lengths",
    "PackOptions": "pipeline.options",
    "Palette": "colour.palette",
    "Plate": "plate.plate",
    "Img2PlateError": "base.errors",
    "SizeOptions": "pipeline.options",
    "find_palette": "colour.palette_file",
    "read_plate": "plate.document",
    "write_plate": "plate.document",
}
"""Where each public name lives; it is imported when it is first asked for, as numpy takes time."""
__all__ = ["__version__", *sorted(_HOMES)]


def __getattr__(name: str) -> Any:
    """Import a public name from its room (PEP 562)."""
    if name not in _HOMES:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    from importlib import import_module

    return getattr(import_module(f"img2plate.{_HOMES[name]}"), name)
