"""Pages of a pack's sheets as pictures: as they will print."""

from __future__ import annotations

import json
from contextlib import closing
from pathlib import Path
from typing import Any

from img2plate.base.files import safe_file
from img2plate.pipeline.options import Progress

POINTS_A_MM = 72 / 25.4


def list_pages(sheets: Path, out: Path, _tell: Progress) -> list[dict[str, Any]]:
    """Size in mm and first words of each page; also written to `out` as JSON."""
    from pypdfium2 import PdfDocument

    with closing(PdfDocument(sheets)) as document:
        pages = [
            {
                "mm": [round(side / POINTS_A_MM, 2) for side in page.get_size()],
                "words": page.get_textpage().get_text_range().strip().split("\r\n")[0],
            }
            for page in document
        ]
    out.parent.mkdir(parents=True, exist_ok=True)
    with safe_file(out) as temporary:
        temporary.write_text(json.dumps(pages, ensure_ascii=False), encoding="utf-8")
    return pages


def draw_page(sheets: Path, number: int, dpi: int, out: Path, _tell: Progress) -> None:
    """Draw a page, counted from 1, as a PNG of so many dots an inch."""
    from pypdfium2 import PdfDocument

    with closing(PdfDocument(sheets)) as document:
        picture = document[number - 1].render(scale=dpi / 72).to_pil()
    with safe_file(out) as temporary:  # another request for the same page may be faster
        picture.save(temporary, format="PNG", compress_level=1)
