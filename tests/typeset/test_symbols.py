"""Symbols and text colours."""

from __future__ import annotations

from pathlib import Path

import cv2
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from reader import tile_pages
from support import make_palette, read_table

from img2plate.base.lengths import PAPERS
from img2plate.colour.colour_vision import MACHADO_2009, grey_print, simulate
from img2plate.colour.palette_file import find_palette
from img2plate.colour.spaces import srgb2linear
from img2plate.plate.plate import Plate
from img2plate.split.tiles import split
from img2plate.tally.counts import count
from img2plate.typeset import look
from img2plate.typeset.sheets import write_sheets
from img2plate.typeset.sheets.printing import Printing
from img2plate.typeset.symbols import sign_on, symbols_for


def test_every_colour_has_its_own_symbol() -> None:
    symbols = symbols_for(range(327))
    assert len(set(symbols.values())) == 327
    assert all(1 <= len(symbol) <= 2 for symbol in symbols.values())
    with pytest.raises(ValueError, match="9999"):
        symbols_for(range(9999))


def test_the_typeface_has_every_symbol() -> None:
    from reportlab.pdfbase.ttfonts import TTFontFile

    characters = TTFontFile(str(look.font_file(bold=True))).charToGlyph
    assert all(ord(c) in characters for symbol in symbols_for(range(327)).values() for c in symbol)


def test_single_symbols_do_not_look_alike() -> None:
    """Drawn at 40 pixels, centred as in a cell: any two differ in a good part of their ink."""
    from PIL import Image, ImageDraw, ImageFont

    font = ImageFont.truetype(str(look.font_file(bold=True)), 40)
    drawn = {}
    for symbol in symbols_for(range(38)).values():
        image = Image.new("L", (60, 60))
        ImageDraw.Draw(image).text((30, 44), symbol, font=font, fill=255, anchor="ms")
        drawn[symbol] = np.asarray(image, float) / 255
    for a, one in drawn.items():
        for b, two in drawn.items():
            if a < b:
                union = np.maximum(one, two).sum()
                assert np.abs(one - two).sum() / union > 0.2, (a, b)


@pytest.mark.parametrize("colours", [look.LIGHT, look.DARK])
def test_text_pairs_of_the_look(colours: dict[str, str]) -> None:
    for text in ("ink", "quiet", "accent"):
        assert look.contrast(colours[text], colours["paper"]) >= 4.5, text


def test_contrast_is_wcags() -> None:
    """The W3C's definitions of contrast ratio and relative luminance."""
    for row in read_table("wcag-contrast.csv"):
        names = list(row)
        assert look.contrast(row[names[0]], row[names[1]]) == pytest.approx(
            float(row["ratio"]), abs=0.006
        )


@given(st.tuples(*[st.integers(0, 255)] * 3))
def test_a_symbol_reads_for_every_kind_of_sight_and_in_grey(colour: tuple[int, int, int]) -> None:
    """WCAG 2.x contrast of 4.5 on cell or chip, as seen in each way, through 8-bit colours."""
    bead = "#{:02x}{:02x}{:02x}".format(*colour)
    sign = sign_on(bead)
    under = sign.chip or bead
    linear = srgb2linear(np.array([bytes.fromhex(under[1:])])[None].view(np.uint8)[..., :3] / 255)
    seen = [linear, grey_print(linear), *(simulate(linear, name) for name in MACHADO_2009)]
    text = {"#000000": 0.0, "#ffffff": 1.0}[sign.ink]
    for light in seen:
        lum = float((light * [0.2126, 0.7152, 0.0722]).sum())
        high, low = max(lum, text), min(lum, text)
        assert (high + 0.05) / (low + 0.05) >= 4.5 - 1e-6


def test_chips_are_the_exception_and_have_the_beads_colour() -> None:
    """Colours that are light to some eyes and dark to others: few of a palette."""
    for name in ("quay-24", "harbour-48", "sea-96"):
        beads = find_palette(name).beads
        chips = {bead.name: (bead, sign_on(bead.hex).chip) for bead in beads}
        chips = {name: pair for name, pair in chips.items() if pair[1]}
        assert 0 < len(chips) <= len(beads) / 8, (name, chips)
        for bead, chip in chips.values():
            off = np.array(list(bytes.fromhex(chip[1:]))) - bead.srgb
            assert np.abs(off).max() < 40  # of 255: stripes of red stay red


TEMPLATE_FINER = 8


def template(symbol: str, cell: float, inner: int) -> np.ndarray:
    """A symbol by Pillow, which is not the writer: (inner, inner) coverage, centred."""
    from PIL import Image, ImageDraw, ImageFont

    path, times = str(look.font_file(bold=True)), TEMPLATE_FINER
    points = cell * 1.9  # pixels of the cell to pixels of the em: 1.9 pt for each mm of pitch
    em = points * 25.4 / 72 * times
    wide = ImageFont.truetype(path, 1000).getlength(symbol) / 1000
    em = min(em, cell * times * 2 / 3 / wide)
    font = ImageFont.truetype(path, em)
    side = inner * times
    image = Image.new("L", (side, side))
    place = side / 2 - font.getlength(symbol) / 2, side / 2 + em * 0.335
    ImageDraw.Draw(image).text(place, symbol, font=font, fill=255, anchor="ls")
    fine = np.asarray(image, float) / 255
    return fine.reshape(inner, times, inner, times).mean(axis=(1, 3))


def normal(patches: np.ndarray) -> np.ndarray:
    """Flattened, zero mean, unit length."""
    flat = patches.reshape(len(patches), -1)
    flat = flat - flat.mean(axis=1, keepdims=True)
    return np.asarray(flat / np.linalg.norm(flat, axis=1, keepdims=True))


@pytest.mark.parametrize("pitch", [5.0, 2.6])
def test_each_printed_symbol_is_told_from_all_others_in_grey(tmp_path: Path, pitch: float) -> None:
    """All 255 that one plate can have, from a 300 dpi greyscale rendering, by correlation."""
    number = 255
    palette = make_palette(number, seed=3).with_pitch(pitch)
    cells = np.arange(number, dtype=np.int16).reshape(15, 17)
    plate = Plate(cells, palette)
    cut = split(plate, (29, 29))
    counts = count(plate, cut)
    write_sheets(tmp_path / "s.pdf", plate, cut, counts, Printing(PAPERS["A4"]))
    page = tile_pages(tmp_path / "s.pdf")[0]
    grey = (page.picture @ np.array([0.299, 0.587, 0.114])).astype(np.float32)
    cell = pitch * page.x_per_mm
    symbols = symbols_for([line.index for line in counts.colours])
    inner = int(cell * 0.72) // 2 * 2
    known = normal(np.stack([template(symbols[i], cell, inner) for i in range(number)]))
    scores = np.full((number, number), -1.0)
    for index in range(number):
        row, column = divmod(index, 17)
        x = page.left + (column + 0.5) * cell - 0.5
        y = page.top + (row + 0.5) * pitch * page.y_per_mm - 0.5
        sign = 1 if sign_on(palette.beads[index].hex).ink == "#ffffff" else -1
        shifted = np.stack([
            sign * cv2.getRectSubPix(grey, (inner, inner), (x + dx, y + dy))
            for dy in (-0.5, 0, 0.5) for dx in (-0.5, 0, 0.5)
        ])  # fmt: skip
        scores[index] = (normal(shifted) @ known.T).max(axis=0)
    assert (scores.argmax(axis=1) == np.arange(number)).all()
    best = scores.max(axis=1)
    second = np.sort(scores, axis=1)[:, -2]
    assert (best - second).min() > 0.02, [
        (symbols[i], symbols[int(scores[i].argsort()[-2])], round(float(best[i] - second[i]), 3))
        for i in (best - second).argsort()[:12]
    ]
