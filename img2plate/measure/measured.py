"""From photos of a card to a palette: cells of several photos combined, codes and plain names."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from img2plate.base.csv_rows import read_csv
from img2plate.base.errors import PaletteError, PictureError
from img2plate.colour.difference import delta_E_CIE2000
from img2plate.colour.names import nearest_keywords
from img2plate.colour.palette import Bead, Palette
from img2plate.colour.spaces import linear2bytes, linear2lab
from img2plate.measure.card import CELLS
from img2plate.measure.cells import Cell, grey_error, read_cells
from img2plate.measure.find import RectifiedCard, rectify_card

_GREY_TROUBLE = 6.0
"""Mean CIEDE2000 of the grey steps over which print or camera is to be doubted; a guess."""
_LEAST_PIXELS = 25.0
"""Pixels of a bead under which the mean error of rendered photos goes over 2 (CIEDE2000)."""


@dataclass(frozen=True, eq=False)
class CardPhoto:
    """One photo of a card, read."""

    name: str
    card: RectifiedCard
    cells: tuple[Cell, ...]
    notes: tuple[str, ...]


@dataclass(frozen=True, eq=False)
class Measured:
    """The palette from one or more photos of a card."""

    palette: Palette
    cells: tuple[int, ...]
    """The card's cell of each colour."""
    spread: tuple[float, ...]
    """Mean CIEDE2000 within the beads of each colour; between photos too, where there are more."""
    notes: tuple[str, ...]


def read_card(srgb: NDArray[np.uint8], name: str) -> CardPhoto:
    """Find and measure a card in a photo (h, w, 3) uint8 sRGB.

    Raises PictureError when there is no card in it.
    """
    card = rectify_card(srgb, name)
    cells = read_cells(card)
    notes = [*_troubles(cells)]
    if card.hidden:
        notes.append(f"marker hidden: {', '.join(card.hidden)}")
    if card.pixels_a_bead < _LEAST_PIXELS:
        notes.append(
            f"a bead is only {card.pixels_a_bead:.0f} pixels large, so colours may be some units"
            " off; go nearer, or take the photo at its full size"
        )
    if (off := grey_error(card)) > _GREY_TROUBLE:
        notes.append(
            f"the grey steps are off by {off:.0f} (CIEDE2000); print the card in normal quality,"
            " and turn off filters and HDR"
        )
    return CardPhoto(name, card, cells, tuple(f"{name}: {note}" for note in notes))


def _troubles(cells: Sequence[Cell]) -> Iterator[str]:
    """A sentence for each kind of trouble; empty cells are told when all photos are read."""
    for trouble in sorted({cell.trouble for cell in cells} - {"", "empty"}):
        numbers = [str(cell.number) for cell in cells if cell.trouble == trouble]
        cells_are = (
            f"cell {numbers[0]} is" if len(numbers) == 1 else f"cells {', '.join(numbers)} are"
        )
        yield f"{cells_are} {trouble}"


def combine(
    photos: Sequence[CardPhoto], *, title: str, names: Mapping[int, tuple[str, str]] | None = None
) -> Measured:
    """Combine photos of one card: the median of each cell. `names` gives code and name by cell.

    Raises PictureError when no cell could be measured, or the photos show cards of two sizes.
    """
    kinds = {photo.card.kind.pitch_mm for photo in photos}
    if len(kinds) > 1:
        raise PictureError("these photos show cards of two bead sizes; measure them apart")
    notes = [note for photo in photos for note in photo.notes]
    found: list[tuple[int, NDArray[np.float64], float]] = []
    empty = []
    for index in range(len(CELLS)):
        seen = [cell for photo in photos if (cell := photo.cells[index]).linear is not None]
        if not seen:
            empty += [index + 1] * all(p.cells[index].trouble == "empty" for p in photos)
            continue
        colours = np.array([cell.linear for cell in seen])
        colour = np.median(colours, axis=0)
        between = float(np.mean(delta_E_CIE2000(linear2lab(colours), linear2lab(colour))))
        found.append((index + 1, colour, max(between, float(np.mean([c.spread for c in seen])))))
    if not found:
        raise PictureError(
            "no cell of the card could be measured: " + "; ".join(notes or ["empty"])
        )
    if empty:
        notes.append(f"empty cells: {', '.join(map(str, empty))}")
    srgb = linear2bytes(np.array([colour for _, colour, _ in found]).astype(np.float32))
    numbers = [number for number, _, _ in found]
    beads, note = _beads(numbers, srgb, names or {}), "measured from real beads"
    palette = Palette(title, beads, note=note).with_pitch(kinds.pop())
    return Measured(palette, tuple(numbers), tuple(s for *_, s in found), tuple(notes))


def read_names(path: Path) -> dict[int, tuple[str, str]]:
    """Read code and name of cells from a CSV with the columns cell, code, name.

    Raises PaletteError with row and reason.
    """
    names: dict[int, tuple[str, str]] = {}
    codes: dict[str, int] = {}
    for row in read_csv(path, "file of names", ("cell",), PaletteError, unique="cell").rows:
        at, cell = f"{path}, row {row.number}, column", row.cells["cell"]
        if not cell.isdecimal() or not 1 <= int(cell) <= len(CELLS):
            raise PaletteError(f"{at} cell: {cell!r} is not a cell from 1 to {len(CELLS)}")
        code = row.cells.get("code", "")
        if code and code in codes:
            raise PaletteError(f"{at} code: {code!r} is on row {codes[code]} too")
        codes[code] = row.number
        names[int(cell)] = code, row.cells.get("name", "")
    return names


def _beads(
    numbers: Sequence[int], srgb: NDArray[np.uint8], names: Mapping[int, tuple[str, str]]
) -> tuple[Bead, ...]:
    """Beads with the codes and names given, else numbered codes and proposed names."""
    beads, proposed, taken = [], nearest_keywords(srgb), dict[str, int]()
    given = {code for code, _ in names.values()}
    for number, (red, green, blue), keyword in zip(numbers, srgb, proposed, strict=True):
        taken[keyword] = taken.get(keyword, 0) + 1
        plain = keyword if taken[keyword] == 1 else f"{keyword} {taken[keyword]}"
        code, name = names.get(number, ("", ""))
        colour = int(red), int(green), int(blue)
        own = f"m{number:02d}"
        beads.append(
            Bead(code or (own if own not in given else f"card-{own}"), name or plain, colour)
        )
    return tuple(beads)
