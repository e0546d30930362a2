"""Pages of a pack, as a page shows and prints them: drawn when they are asked for, then kept."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from img2plate.base.errors import Img2PlateError
from img2plate.ui.worktable.table import Table
from img2plate.ui.worktable.work.jobs import Job

DPI = {"small": 60, "large": 144, "print": 300}
"""Dots an inch: among others, alone on a screen, on paper."""
LISTED, DRAWN = 3, 4
"""What goes first in a lane: after the plate in hand, before proofs."""


class Sheets:
    """Asks a table's workers. Methods may be called from any thread, and wait."""

    def __init__(self, table: Table) -> None:
        self._table = table

    def pages(self, project_id: str, key: str) -> list[dict[str, Any]]:
        """What the pages of a pack are: mm, words. Raises KeyError when there is no such pack."""
        path = self._folder(project_id, key) / "pages.json"
        if not path.is_file():
            sheets = self._table.pack_file(project_id, key, "sheets.pdf")
            self._done(project_id, f"pages-{key}", "list_pages", (sheets, path), LISTED)
        return list(json.loads(path.read_text(encoding="utf-8")))

    def page(self, project_id: str, key: str, number: int, size: str) -> Path:
        """The picture of a page, counted from 1. Raises KeyError when there is no such page."""
        if not 1 <= number <= len(self.pages(project_id, key)):
            raise KeyError(number)
        dpi = DPI[size]
        path = self._folder(project_id, key) / f"{number}-{dpi}.png"
        if not path.is_file():
            sheets = self._table.pack_file(project_id, key, "sheets.pdf")
            place = f"page-{key}-{number}-{dpi}"
            self._done(project_id, place, "draw_page", (sheets, number, dpi, path), DRAWN)
        return path

    def _folder(self, project_id: str, key: str) -> Path:
        """Where a pack's pages are kept."""
        return self._table.projects.pack(project_id, key) / "pages"

    def _done(
        self, project_id: str, place: str, task: str, arguments: tuple[Any, ...], order: int
    ) -> None:
        """Have something done now. Raises Img2PlateError when it cannot be."""
        self._table.jobs.forget(project_id, place)  # it was tidied away since
        job = self._table.jobs.start(Job(project_id, place, task, arguments, order=order))
        job.finished.wait()
        if job.state != "done":
            raise Img2PlateError(job.error.get("words", "stopped"))
