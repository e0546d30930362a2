"""A follow-along page as the worktable shares it: its ticks go to the server and come back.

The page that was written is taken as it is; a second script is put after its own. The policy inside
the page, which forbids every request, gives way to that of the server, which allows one address.
"""

from __future__ import annotations

import json
import re
from typing import Any

from img2plate.base.errors import DocumentError
from img2plate.typeset.follow import follow_script, here

POLICY = re.compile(r'<meta http-equiv="Content-Security-Policy" content="[^"]*">\n')
PLATE = re.compile(r'<script type="application/json" id="plate">([^<]*)</script>')
END = "</body>"


def shared_script() -> str:
    """The script that is put after the page's own."""
    return here("shared.js")


def shared_page(page: str) -> str:
    """The page with that script, for a server that has a policy. Raises DocumentError."""
    opened, found = POLICY.subn("", page, count=1)
    top, end, rest = opened.rpartition(END)
    # The policy names scripts by their digests, so another script would not run anyway.
    if not found or not end or f"<script>{follow_script()}</script>" not in page:
        raise DocumentError("this pack is of an earlier version: make it anew")
    return f"{top}<script>{shared_script()}</script>\n{end}{rest}"


def described(page: str) -> dict[str, Any]:
    """What a page says of its plate, as `write_follow_page` put it. Raises DocumentError."""
    found = PLATE.search(page)
    if not found:
        raise DocumentError("this is no follow-along page")
    return dict(json.loads(found[1]))
