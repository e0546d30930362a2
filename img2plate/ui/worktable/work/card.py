"""The user's own beads on a photo of the card, measured as the command line does it."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from img2plate.pipeline.options import Progress
from img2plate.pipeline.palette import measure


def measure_card(photo: Path, out: Path, names: Path | None, _tell: Progress) -> dict[str, Any]:
    """Write the palette of a photo to `out`, a picture of what was looked at beside it.

    names: CSV of codes and names by cell. Raises PictureError for a photo that shows no card,
    PaletteError for names that cannot be.
    """
    done = measure([photo], out, names=names)
    found = done.measured
    beads = [
        {"cell": cell, "code": bead.code, "name": bead.name, "hex": bead.hex,
         "spread": f"{spread:.1f}"}
        for bead, cell, spread in zip(found.palette.beads, found.cells, found.spread, strict=True)
    ]  # fmt: skip
    return {"beads": beads, "notes": list(found.notes), "looked": done.files[1].name}
