"""The front door: a proof sheet in the format that a file's ending says."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from img2plate.typeset.proof.page import write_page
from img2plate.typeset.proof.pages import write_pages
from img2plate.typeset.proof.picture_sheet import write_picture_sheet
from img2plate.typeset.proof.proof import Proof

ENDINGS = (".png", ".pdf", ".html")


def write_proof(path: Path, proof: Proof) -> None:
    """Write the sheet in the format that the file's ending says: .png, .pdf or .html."""
    writers: dict[str, Callable[[Path, Proof], None]] = {
        ".png": write_picture_sheet,
        ".pdf": write_pages,
        ".html": write_page,
    }
    writers[path.suffix](path, proof)
