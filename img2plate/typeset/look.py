"""The one look of everything that is seen: ink, paper, two accents, and the type.

Colours as `#rrggbb`. Every text pair is checked in the tests for a contrast of 4.5 to 1 (WCAG 2.x).
"""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from PIL import ImageFont

INK = "#1d2b33"
PAPER = "#ffffff"
RULE = "#c9d1d4"
QUIET = "#5b6a72"
ACCENT = "#b5452e"
"""For what must not be missed: way up, seam marks, warnings."""
HEADING = "#1f5a73"
"""For titles."""
GROUND = "#e9ecec"
"""Behind pictures of plates."""

LIGHT = {
    "ink": INK,
    "paper": PAPER,
    "rule": RULE,
    "quiet": QUIET,
    "accent": ACCENT,
    "heading": HEADING,
    "ground": GROUND,
}
DARK = {
    "ink": "#e8eef0",
    "paper": "#12191d",
    "rule": "#36444c",
    "quiet": "#9fb0b8",
    "accent": "#ff8a6b",
    "heading": "#8cc7de",
    "ground": "#1d272d",
}
"""The same, for pages on dark screens."""


def contrast(one: str, two: str) -> float:
    """WCAG 2.x contrast ratio of two colours `#rrggbb`, 1 to 21."""
    high, low = sorted((_luminance(one), _luminance(two)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def _luminance(colour: str) -> float:
    """Relative luminance of WCAG 2.x: linear light, weighed by channel."""
    values = (part / 255 for part in bytes.fromhex(colour.removeprefix("#")))
    light = [v / 12.92 if v <= 0.04045 else ((v + 0.055) / 1.055) ** 2.4 for v in values]
    return 0.2126 * light[0] + 0.7152 * light[1] + 0.0722 * light[2]


@cache
def font_file(*, bold: bool = False) -> Path:
    """Return the TrueType file of Atkinson Hyperlegible (SIL Open Font License)."""
    from importlib.resources import files

    name = "AtkinsonHyperlegible-Bold.ttf" if bold else "AtkinsonHyperlegible-Regular.ttf"
    return Path(str(files("fontpkg_atkinson_hyperlegible") / "files" / name))


@cache
def font_notice() -> str:
    """Name, copyright line and licence of the typeface, as its package states them.

    The licence asks that they go with every copy (SIL Open Font License 1.1, condition 2).
    """
    import json
    from importlib.resources import files

    text = (files("fontpkg_atkinson_hyperlegible") / "metadata.json").read_text(encoding="utf-8")
    about = json.loads(text)
    return f"{about['family']}. {about['copyright']} SIL Open Font License, Version 1.1."


@cache
def font(size: int, *, bold: bool = False) -> ImageFont.FreeTypeFont:
    """The typeface for pictures, at a size in pixels."""
    from PIL import ImageFont

    return ImageFont.truetype(str(font_file(bold=bold)), size)
