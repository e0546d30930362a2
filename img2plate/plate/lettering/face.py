"""Faces of letters: the bundled files of `fonts/`, one for each height of the capitals."""

from __future__ import annotations

import unicodedata
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import NamedTuple

import numpy as np

from img2plate.base.arrays import Mask
from img2plate.base.errors import OptionError

LOWEST, HIGHEST = 5, 48
"""Of capitals, in beads. Where no face is drawn so high, one of an exact part is enlarged."""


class Glyph(NamedTuple):
    """The pixels of one character."""

    top: int
    """Rows from the baseline up to its upper edge."""
    beads: Mask
    """(h, w) bool, with no empty column or row at a side."""


@dataclass(frozen=True, eq=False)
class Face:
    """Letters of one height."""

    height: int
    """Of capitals, in beads."""
    glyphs: dict[str, Glyph]

    def of(self, letter: str) -> Glyph:
        """The pixels of a letter. Raises OptionError that names one the face does not have."""
        if letter not in self.glyphs:
            name = unicodedata.name(letter, "a character without a name").lower()
            raise OptionError(
                f"has {letter!r} (U+{ord(letter):04X}, {name}), which no face here has",
                field="text",
                remedy="write it with other letters",
            )
        return self.glyphs[letter]

    def enlarged(self, times: int) -> Face:
        """Each pixel so many beads wide and high."""
        glyphs = {
            letter: Glyph(top * times, np.repeat(np.repeat(beads, times, 0), times, 1))
            for letter, (top, beads) in self.glyphs.items()
        }
        return Face(self.height * times, glyphs)


def fonts_folder() -> Path:
    """Where the bundled faces are: in the installed package, else beside it in a checkout."""
    package = Path(__file__).resolve().parents[2]
    installed = package / "fonts"
    return installed if installed.is_dir() else package.parent / "fonts"


@cache
def drawn_heights() -> tuple[int, ...]:
    """Heights that a face is drawn for."""
    return tuple(sorted(int(path.stem[-2:]) for path in fonts_folder().glob("capitals-*.txt")))


@cache
def find_face(height: int) -> Face:
    """The face with capitals of a height. Raises OptionError where there is none."""
    if not LOWEST <= height <= HIGHEST:
        raise OptionError(f"is not {LOWEST} to {HIGHEST} beads", field="height", value=height)
    parts = [drawn for drawn in drawn_heights() if height % drawn == 0]
    if not parts:
        near = min(
            (each for each in range(LOWEST, HIGHEST + 1) if _is_there(each)),
            key=lambda each: abs(each - height),
        )
        raise OptionError(
            "is a height that no face has", field="height", value=height, remedy=f"take {near}"
        )
    face = read_face(fonts_folder() / f"capitals-{max(parts):02}.txt")
    return face if face.height == height else face.enlarged(height // face.height)


def read_face(path: Path) -> Face:
    """Read a file as `fonts/make_fonts.py` writes it."""
    height, glyphs = 0, {}
    for line in path.read_text(encoding="utf-8").splitlines():
        if line.startswith("# capitals:"):
            height = int(line.partition(":")[2])
        elif not line.startswith("#"):
            code, top, width, *rows = line.partition("  ")[0].split()
            bits = [[int(bit) for bit in f"{int(row, 16):0{width}b}"] for row in rows]
            glyphs[chr(int(code, 16))] = Glyph(int(top), np.array(bits, bool))
    return Face(height, glyphs)


def _is_there(height: int) -> bool:
    return any(height % drawn == 0 for drawn in drawn_heights())
