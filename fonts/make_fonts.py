"""Write the faces of this folder from bitmap fonts, which are drawn pixel by pixel.

    python fonts/make_fonts.py FOLDER

FOLDER holds the fonts of Debian's packages xfonts-base and xfonts-terminus, as installed in
`/usr/share/fonts/X11/misc`. A face is named by the height of its capitals. A line is a character:
its code point, how many rows its top lies above the baseline, its width, and its rows from the top
as hexadecimal numbers, the left column first; empty columns and rows at its sides are left out.
"""

from __future__ import annotations

import gzip
import io
import struct
import sys
import unicodedata
from pathlib import Path
from typing import NamedTuple

import numpy as np
from PIL import PcfFontFile

HERE = Path(__file__).parent
FACES = {
    5: "4x6", 6: "5x7", 7: "6x10", 8: "ter-u12b_unicode", 9: "7x13B", 10: "ter-u14b_unicode",
    12: "ter-u18b_unicode", 13: "ter-u20b_unicode", 14: "ter-u22b_unicode",
    15: "ter-u24b_unicode", 18: "ter-u28b_unicode", 20: "ter-u32b_unicode",
}  # fmt: skip
"""Height of the capitals, and where it comes from; bold ones, as their stems are two beads wide."""


def origin(source: str) -> tuple[str, str]:
    """Where a font is from, and its licence."""
    if source.startswith("ter-"):
        return "xfonts-terminus", "SIL Open Font License 1.1, see LICENSES/OFL-1.1.txt"
    return "font-misc-misc of X.Org", "public domain ('Public domain font. Share and enjoy.')"


WANTED = [*range(0x21, 0x7F), *range(0xA1, 0x180), 0x218, 0x219, 0x21A, 0x21B, 0x1E9E, 0x2013,
          0x2014, 0x2018, 0x2019, 0x201A, 0x201C, 0x201D, 0x201E, 0x2022, 0x2026,
          0x20AC]  # fmt: skip
"""Latin letters with their accents, figures, signs, quotation marks, dashes, the euro."""


class Glyph(NamedTuple):
    """One character's pixels."""

    top: int
    rows: np.ndarray


class Pcf(PcfFontFile.PcfFontFile):
    """All characters of a font, not its first 256 alone."""

    def _load_encoding(self) -> list[int | None]:
        fp, _format, i16, _i32 = self._getformat(PcfFontFile.PCF_BDF_ENCODINGS)
        first, last, high, highest, _ = struct.unpack(">5H" if _is_big(i16) else "<5H", fp.read(10))
        self.places = {}
        for row in range(high, highest + 1):
            for column in range(first, last + 1):
                at = i16(fp.read(2))
                if at != 0xFFFF:
                    self.places[row * 256 + column] = at
        self.metrics = self._load_metrics()
        self.bitmaps = self._load_bitmaps(self.metrics)
        return [None] * 256


def _is_big(i16: object) -> bool:
    return i16(b"\0\1") == 1  # type: ignore[operator]


def glyphs(path: Path) -> dict[int, Glyph]:
    """The characters that a font has of those wanted."""
    font = Pcf(io.BytesIO(gzip.decompress(path.read_bytes())))
    found = {}
    for code in WANTED:
        if code not in font.places:
            continue
        place = font.places[code]
        pixels = np.array(font.bitmaps[place]).astype(bool)
        rows, columns = np.flatnonzero(pixels.any(1)), np.flatnonzero(pixels.any(0))
        if rows.size:
            ascent = font.metrics[place][5]
            inside = pixels[rows[0] : rows[-1] + 1, columns[0] : columns[-1] + 1]
            found[code] = Glyph(ascent - int(rows[0]), inside)
    return found


def write(height: int, source: str, folder: Path) -> None:
    """Write one face."""
    name, licence = origin(source)
    found = glyphs(folder / f"{source}.pcf.gz")
    assert found[ord("E")].top == found[ord("E")].rows.shape[0] == height, source
    lines = [f"# capitals: {height}", f"# origin: {source} of {name}",
             f"# licence: {licence}"]  # fmt: skip
    for code, (top, rows) in found.items():
        bits = [int("".join("01"[int(bit)] for bit in row), 2) for row in rows]
        letter = chr(code) if unicodedata.category(chr(code))[0] != "C" else ""
        lines.append(
            f"{code:04x} {top} {rows.shape[1]} {' '.join(f'{b:x}' for b in bits)}  {letter}"
        )
    (HERE / f"capitals-{height:02}.txt").write_text("\n".join(lines) + "\n", encoding="utf-8")
    missing = [chr(code) for code in WANTED if code not in found]
    print(height, source, len(found), "missing", "".join(missing))


if __name__ == "__main__":
    for each, font_file in FACES.items():
        write(each, font_file, Path(sys.argv[1]))
