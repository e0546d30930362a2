"""Projects that are followed on a phone at this moment. Knows nothing of the web."""

from __future__ import annotations

import json
import secrets
import threading
import time
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from img2plate.base.errors import Img2PlateError
from img2plate.base.files import safe_file
from img2plate.typeset.follow.shared import described, shared_page
from img2plate.ui.worktable.table import Table
from img2plate.ui.worktable.ticks import Ticks

NOT_STARTED = "this worktable was started without --share"
AT_ONCE, PER_SECOND = 40, 8.0
"""Requests that a link answers in a row, and from then on."""
MOST_KEPT = 20
"""Plates of a project whose ticks are kept."""


class Share:
    """A plate that is followed under a link. Methods may be called from any thread."""

    def __init__(self, key: str, page: str, folder: Path) -> None:
        """key: the pack that the page is of; ticks are kept in the folder. Raises DocumentError."""
        plate = described(page)
        self.key, self.page = key, shared_page(page).encode()
        self.token = secrets.token_urlsafe(16)
        self._path = folder / f"{plate['key']}.json"
        self._ticks = Ticks(plate, _kept(self._path))
        self._lock = threading.Lock()
        self._allowed, self._seen = float(AT_ONCE), time.monotonic()

    def allow(self) -> bool:
        """Whether one more request is not too many."""
        with self._lock:
            now = time.monotonic()
            grown = self._allowed + (now - self._seen) * PER_SECOND
            self._allowed, self._seen = min(float(AT_ONCE), grown), now
            if self._allowed < 1:
                return False
            self._allowed -= 1
            return True

    def exchange(self, words: Mapping[str, Any]) -> tuple[dict[str, Any], bool]:
        """Take ticks from a phone; what is new for it, and whether it brought something new."""
        on, off, after = words.get("on"), words.get("off"), words.get("after")
        on, off = on if isinstance(on, dict) else {}, off if isinstance(off, dict) else {}
        with self._lock:
            changed = self._ticks.change(on, off)
            if changed:
                self._keep()
            return self._ticks.newer(after if isinstance(after, int) else 0, {*on, *off}), changed

    def far(self) -> list[dict[str, Any]]:
        """How far each board is."""
        with self._lock:
            return self._ticks.far()

    def _keep(self) -> None:
        """Write the ticks; those of plates that were followed long ago go."""
        folder = self._path.parent
        folder.mkdir(exist_ok=True)
        with safe_file(self._path) as temporary:
            temporary.write_text(json.dumps(self._ticks.as_json()), encoding="utf-8")
        found = sorted(folder.glob("*.json"), key=lambda path: path.stat().st_mtime)
        for path in found[:-MOST_KEPT]:
            path.unlink(missing_ok=True)


def _kept(path: Path) -> dict[str, Any]:
    """Ticks of an earlier time; none when there are none that can be read."""
    try:
        found = json.loads(path.read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return {}
    return found if isinstance(found, dict) else {}


class Shares:
    """The links that work at this moment, one for a project at most."""

    def __init__(
        self, table: Table, tell: Callable[[str, dict[str, Any]], None], base: str
    ) -> None:
        """base: what links begin with; empty when nothing is ever shared."""
        self._table, self._tell, self._base = table, tell, base
        self._shares: dict[str, Share] = {}

    def about(self, project_id: str) -> dict[str, Any]:
        """What a page shows: whether it can be shared, the link, and how far each board is."""
        share = self._shares.get(project_id)
        about: dict[str, Any] = {"what": "phone", "can": bool(self._base), "link": ""}
        if share:
            link = f"{self._base}/{share.token}/"
            about |= {"link": link, "key": share.key, "boards": share.far()}
        return about

    def begin(self, project_id: str, key: str) -> None:
        """Share the plate of a pack, under a new link. Raises KeyError, Img2PlateError."""
        if not self._base:
            raise Img2PlateError(NOT_STARTED)
        page = self._table.pack_file(project_id, key, "follow.html").read_text(encoding="utf-8")
        folder = self._table.projects.home(project_id) / "ticks"
        self._shares[project_id] = Share(key, page, folder)
        self._tell(project_id, self.about(project_id))

    def end(self, project_id: str) -> None:
        """Share a project no more."""
        if self._shares.pop(project_id, None):
            self._tell(project_id, self.about(project_id))

    def find(self, token: str) -> tuple[str, Share] | None:
        """The project and the share of a link; as slow for a wrong token as for a right one."""
        found = None
        for project_id, share in list(self._shares.items()):
            if secrets.compare_digest(share.token.encode(), token.encode()):
                found = project_id, share
        return found

    def exchange(self, project_id: str, share: Share, words: Mapping[str, Any]) -> dict[str, Any]:
        """Take ticks from a phone, and tell the pages on the table."""
        answer, changed = share.exchange(words)
        if changed:
            self._tell(project_id, self.about(project_id))
        return answer
