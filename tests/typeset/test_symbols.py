"""Symbols and text colours."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from support import read_table

from img2plate.typeset import look
from img2plate.typeset.symbols import symbols_for


def test_every_colour_has_its_own_symbol() -> None:
    symbols = symbols_for(range(500))
    assert len(set(symbols.values())) == 500
    assert all(1 <= len(symbol) <= 2 for symbol in symbols.values())
    with pytest.raises(ValueError, match="9999"):
        symbols_for(range(9999))


def test_the_typeface_has_every_symbol() -> None:
    from reportlab.pdfbase.ttfonts import TTFontFile

    characters = TTFontFile(str(look.font_file(bold=True))).charToGlyph
    assert all(ord(c) in characters for symbol in symbols_for(range(614)).values() for c in symbol)


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


@given(st.tuples(*[st.integers(0, 255)] * 3))
def test_text_on_any_bead_has_a_contrast_of_4_5(colour: tuple[int, int, int]) -> None:
    """WCAG 2.x, success criterion 1.4.3."""
    bead = "#{:02x}{:02x}{:02x}".format(*colour)
    assert look.contrast(bead, look.text_on(bead)) >= 4.5


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
