"""The one look of everything that is seen: ink, paper, one accent, and the type.

Colours as `#rrggbb`. Every text pair is checked in the tests for a contrast of 4.5 to 1 (WCAG 2.x).
"""

from __future__ import annotations

from functools import cache
from pathlib import Path

INK = "#1d2b33"
PAPER = "#ffffff"
RULE = "#c9d1d4"
QUIET = "#5b6a72"
ACCENT = "#b5452e"
"""For what must not be missed: way up, seam marks, warnings."""
GROUND = "#e9ecec"
"""Behind pictures of plates."""

DARK_PAPER = "#12191d"
DARK_INK = "#e8eef0"
DARK_ACCENT = "#ff8a6b"
DARK_RULE = "#36444c"
DARK_QUIET = "#9fb0b8"
DARK_GROUND = "#1d272d"

SIZES_PT = (8, 10, 14, 20, 32)


@cache
def font_file(*, bold: bool = False) -> Path:
    """Return the TrueType file of Atkinson Hyperlegible (SIL Open Font License)."""
    from importlib.resources import files

    name = "AtkinsonHyperlegible-Bold.ttf" if bold else "AtkinsonHyperlegible-Regular.ttf"
    return Path(str(files("fontpkg_atkinson_hyperlegible") / "files" / name))
