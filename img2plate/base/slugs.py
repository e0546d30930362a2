"""Names for files and addresses out of any text: small Latin letters, digits, hyphens."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Collection

_MOST = 60
_DEVICES = re.compile(r"(con|prn|aux|nul|com\d|lpt\d)")
"""Names that Windows keeps for itself."""


def slug(text: str, taken: Collection[str] = (), usual: str = "pattern") -> str:
    """A name for a file or folder that is not among `taken`; `usual` where no letter is left."""
    plain = unicodedata.normalize("NFKD", text[:1000].replace("ß", "ss").replace("ø", "o"))
    words = re.findall(r"[a-z0-9]+", plain.encode("ascii", "ignore").decode().lower())
    name = "-".join(words)[:_MOST].strip("-") or usual
    if _DEVICES.fullmatch(name):
        name = f"{usual}-{name}"
    found, number = name, 2
    while found in taken:
        found, number = f"{name}-{number}", number + 1
    return found
