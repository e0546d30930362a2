"""One zip file of a folder, with the same bytes for the same files."""

from __future__ import annotations

import zipfile
from collections.abc import Iterable
from pathlib import Path

from img2plate.base.files import safe_file

_PACKED = {".png", ".pdf", ".xlsx"}
"""Compressed inside already: stored as they are."""


def write_zip(path: Path, files: Iterable[Path], root: Path | None = None) -> None:
    """Write files, all under a folder named as the zip, in the order of their names.

    root: they keep their folders below it; None: they have none.
    Raises OutputError when the place cannot be written.
    """
    with safe_file(path) as temporary, zipfile.ZipFile(temporary, "w") as archive:
        for file in sorted(files):
            name = file.relative_to(root).as_posix() if root else file.name
            # A fixed date (the first that the format knows), so that equal packs give equal bytes.
            entry = zipfile.ZipInfo(f"{path.stem}/{name}", (1980, 1, 1, 0, 0, 0))
            packed = file.suffix in _PACKED
            entry.compress_type = zipfile.ZIP_STORED if packed else zipfile.ZIP_DEFLATED
            entry.external_attr = 0o644 << 16
            archive.writestr(entry, file.read_bytes())
