"""Palette files: our CSV, the user's own CSV, and the plain-text palette of image editors (.gpl).

A CSV has a header with at least `code` and `hex` (also `name`, `finish`, and
`lighter` and `darker`: the codes of its companions), and may start with
comment lines `# key: value` (name, origin, licence, pitch, bead). A file that is wrong is refused
with the row, the column and the reason.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Iterator, Mapping, Sequence
from contextlib import suppress
from pathlib import Path

from img2plate.base.bead import BeadSize, bead_size_for
from img2plate.base.csv_rows import parse_csv, read_lines
from img2plate.base.errors import PaletteError
from img2plate.base.near import did_you_mean
from img2plate.colour.palette import Bead, Palette
from img2plate.colour.spaces import hex2srgb

FINISHES = ("solid", "clear", "pearl", "glow", "metallic")
COLUMNS = ("code", "name", "hex", "finish")
COMPANION_COLUMNS = ("lighter", "darker")
GPL_HEADER = "GIMP Palette"
"""First line of the plain-text palette format; the format's own magic word."""
_MOST_BEADS = 30_000
_MOST_ERRORS = 100


def palettes_folder() -> Path:
    """Where the bundled palettes are: in the installed package, else beside it in a checkout."""
    package = Path(__file__).resolve().parents[1]
    installed = package / "palettes"
    return installed if installed.is_dir() else package.parent / "palettes"


def bundled_names() -> list[str]:
    """Return the names of the bundled palettes, sorted by name."""
    return sorted(path.stem for path in palettes_folder().glob("*.csv"))


def find_palette(name_or_file: str) -> Palette:
    """Read a bundled palette by name, or a palette file by path.

    Raises PaletteError when there is neither, or the file is wrong.
    """
    if name_or_file in bundled_names():
        return read_palette(palettes_folder() / f"{name_or_file}.csv")
    path = Path(name_or_file)
    with suppress(OSError):  # a name that is too long to be a file's
        if path.exists():
            return read_palette(path)
    raise PaletteError(
        f"no palette {name_or_file!r}: neither a file nor one of {', '.join(bundled_names())}",
        remedy=did_you_mean(name_or_file, bundled_names()),
    )


def read_palette(path: Path) -> Palette:
    """Read a palette file: `.gpl` text by its first line, anything else as CSV.

    Raises PaletteError with file, row, column and reason.
    """
    return _read(path, read_lines(path, "palette", PaletteError))


def palette_errors(path: Path) -> list[PaletteError]:
    """All that is wrong with a palette file, in the order in which it is found; empty when it is
    good. A row that is wrong is left out, and the rest is looked at again."""
    found = list[PaletteError]()
    try:
        lines = read_lines(path, "palette", PaletteError)
    except PaletteError as error:
        return [error]
    while len(found) < _MOST_ERRORS:
        try:
            _read(path, lines)
        except PaletteError as error:
            found.append(error)
            row = re.search(r", row (\d+)", str(error).removeprefix(str(path)))
            if row is None or not lines[int(row[1]) - 1]:
                break
            lines[int(row[1]) - 1] = ""
        else:
            break
    return [error for error in found if error is found[0] or "no colour in it" not in str(error)]


def _read(path: Path, lines: list[str]) -> Palette:
    """Read the lines of a palette file."""
    if lines and lines[0].strip() == GPL_HEADER:
        heads, beads = _gpl_heads(lines), list(_gpl_beads(path, lines))
    else:
        heads, beads = _csv_heads(lines), list(_csv_beads(path, lines))
        _refuse_strange_companions(path, beads)
    if not beads:
        raise PaletteError(f"{path}: no colour in it; a row looks like klp,kelp,#3A5A40,solid")
    if len(beads) > _MOST_BEADS:
        raise PaletteError(f"{path}: {len(beads)} colours, at most {_MOST_BEADS} are possible")
    pitch = _pitch(path, heads)
    return Palette(
        name=heads.get("name", path.stem),
        beads=tuple(bead for _, bead in beads),
        pitch_mm=pitch,
        bead_size=_bead_size(path, heads, pitch),
        note="; ".join(heads[key] for key in ("origin", "licence") if key in heads),
    )


def write_palette(
    path: Path, palette: Palette, *, more: Mapping[str, Sequence[str]] | None = None
) -> None:
    """Write a palette as CSV, readable by `read_palette`; `more` are columns of remarks."""
    size = palette.bead_size
    with path.open("w", encoding="utf-8", newline="") as file:
        file.write(f"# name: {palette.name}\n")
        if palette.note:
            file.write(f"# origin: {palette.note}\n")
        file.write(f"# pitch: {palette.pitch_mm:g}\n")
        file.write(f"# bead: {size.outer_mm:g} x {size.hole_mm:g} x {size.height_mm:g}\n")
        writer = csv.writer(file, lineterminator="\n")
        rows = [(b.code, b.name, b.hex, b.finish, b.lighter, b.darker) for b in palette.beads]
        own = any(row[4] or row[5] for row in rows)
        columns = COLUMNS + COMPANION_COLUMNS if own else COLUMNS
        extra = more or {}
        writer.writerow([*columns, *extra])
        for row, *words in zip(rows, *extra.values(), strict=True):
            writer.writerow([*row[: len(columns)], *words])


def _csv_heads(lines: list[str]) -> dict[str, str]:
    """Collect the `# key: value` comments before the header."""
    pairs = (re.match(r"#\s*(\w+)\s*:\s*(.+)", line) for line in lines if line.startswith("#"))
    return {match[1].lower(): match[2].strip() for match in pairs if match}


def _csv_beads(path: Path, lines: list[str]) -> Iterator[tuple[int, Bead]]:
    """Yield row number (as an editor shows it) and bead."""
    file = parse_csv(path, lines, "palette", ("code", "hex"), PaletteError)
    for row in file.rows:
        yield row.number, _bead(path, row.number, row.cells)


def _bead(path: Path, number: int, row: dict[str, str]) -> Bead:
    """Check one CSV row."""
    code = row["code"]
    finish = row.get("finish") or "solid"
    if finish not in FINISHES:
        raise PaletteError(
            f"{path}, row {number}, column finish: {finish!r} is none of {', '.join(FINISHES)}"
        )
    try:
        srgb = hex2srgb(row.get("hex", ""))
    except ValueError as error:
        raise PaletteError(f"{path}, row {number}, column hex: {error}") from None
    own = (row.get(column, "") for column in COMPANION_COLUMNS)
    return Bead(code, row.get("name") or code, srgb, finish, *own)


def _gpl_heads(lines: list[str]) -> dict[str, str]:
    """Take the name from the head of a .gpl file."""
    names = [line.partition(":")[2].strip() for line in lines[1:4] if line.startswith("Name:")]
    return {"name": names[0]} if names and names[0] else {}


def _gpl_beads(path: Path, lines: list[str]) -> Iterator[tuple[int, Bead]]:
    """Yield row number and bead of a .gpl file: red, green, blue, perhaps a name."""
    for number, line in enumerate(lines[1:], 2):
        if not line.strip() or line.lstrip().startswith(("#", "Name:", "Columns:")):
            continue
        match = re.match(r"\s*(\d+)\s+(\d+)\s+(\d+)(?:\s+(.*))?$", line)
        if not match:
            raise PaletteError(f"{path}, row {number}: {line.strip()!r} is not red green blue name")
        values = [int(part) for part in match.groups()[:3]]
        for column, value in zip(("red", "green", "blue"), values, strict=True):
            if value > 255:
                raise PaletteError(f"{path}, row {number}, column {column}: {value} is over 255")
        red, green, blue = values
        name = (match[4] or "").strip()
        # The format has no codes, and names may repeat: the row makes the code.
        yield number, Bead(f"row-{number}", name or f"row {number}", (red, green, blue))


def _refuse_strange_companions(path: Path, beads: list[tuple[int, Bead]]) -> None:
    """Refuse a companion that is no other colour of the file."""
    codes = {bead.code for _, bead in beads}
    for number, bead in beads:
        for column in COMPANION_COLUMNS:
            code = getattr(bead, column)
            if code and code not in codes - {bead.code}:
                raise PaletteError(
                    f"{path}, row {number}, column {column}: {code!r} is not another colour here"
                )


def _pitch(path: Path, heads: dict[str, str]) -> float:
    """Read `# pitch: 5.0`; 5.0 when it is missing."""
    text = heads.get("pitch", "5.0").removesuffix("mm").strip()
    try:
        pitch = float(text)
    except ValueError:
        pitch = 0.0
    if not 0.5 <= pitch <= 50:
        raise PaletteError(f"{path}: '# pitch: {text}' is not a length from 0.5 to 50 mm")
    return pitch


def _bead_size(path: Path, heads: dict[str, str], pitch: float) -> BeadSize:
    """Read `# bead: 5.0 x 2.6 x 5.0`; the pitch's usual bead when it is missing."""
    if "bead" not in heads:
        return bead_size_for(pitch)
    numbers = [float(n) for n in re.findall(r"\d+(?:\.\d+)?", heads["bead"].split("(")[0])]
    if len(numbers) != 3 or not 0 <= numbers[1] < numbers[0] or not numbers[2] > 0:
        raise PaletteError(
            f"{path}: '# bead: {heads['bead']}' is not outer x hole x height in mm,"
            " as 5.0 x 2.6 x 5.0"
        )
    return BeadSize(*numbers)
