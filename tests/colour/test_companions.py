"""Companions: one step lighter or darker, of the same hue, unless the palette says otherwise."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from support import make_palette

from img2plate.base.errors import PaletteError
from img2plate.colour import companions as rule
from img2plate.colour.companions import family, find_companions
from img2plate.colour.palette_file import find_palette, read_palette, write_palette


@pytest.mark.parametrize("name", ["harbour-48", "sea-96", "css-named"])
def test_companions_are_lighter_and_darker_and_of_one_hue(name: str) -> None:
    palette = find_palette(name)
    lightness, a, b = palette.oklab.T
    hue, chroma = np.degrees(np.arctan2(b, a)), np.hypot(a, b)
    found = find_companions(palette)
    assert sum(pair.lighter is not None for pair in found) > len(palette) / 2
    for base, pair in enumerate(found):
        for sign, index in ((1, pair.lighter), (-1, pair.darker)):
            if index is None:
                continue
            rise = sign * (lightness[index] - lightness[base])
            assert rule.NEAREST <= rise <= rule.FARTHEST
            turned = abs((hue[index] - hue[base] + 180) % 360 - 180)
            greys = chroma[[index, base]] < rule.GREY_CHROMA
            assert greys.all() or (not greys.any() and turned <= rule.SAME_HUE_DEGREES)
            assert palette.beads[index].finish == palette.beads[base].finish


def test_none_is_left_out_that_the_rule_allows() -> None:
    palette = make_palette(60, seed=3)
    same = rule.same_hue(palette)
    lightness = palette.oklab[:, 0]
    for base, pair in enumerate(find_companions(palette)):
        rise = lightness - lightness[base]
        fits = same[base] & (rise >= rule.NEAREST) & (rise <= rule.FARTHEST)
        assert (pair.lighter is not None) == bool(fits.any())


def test_one_hue_is_a_matter_of_both_colours() -> None:
    """Hue differences by the angle between two directions, which needs no wrapping round."""
    palette = make_palette(150, seed=5)
    beads = [replace(b, finish="pearl" if i % 3 else "solid") for i, b in enumerate(palette.beads)]
    palette = replace(palette, beads=tuple(beads))
    finish = np.arange(150) % 3 > 0
    a, b = palette.oklab[:, 1:].T
    chroma = np.hypot(a, b)
    cosines = (np.outer(a, a) + np.outer(b, b)) / np.outer(chroma, chroma)
    near = np.degrees(np.arccos(np.clip(cosines, -1, 1))) <= rule.SAME_HUE_DEGREES
    coloured = chroma >= rule.GREY_CHROMA
    wanted = near & np.outer(coloured, coloured) | np.outer(~coloured, ~coloured)
    wanted &= finish[:, None] == finish
    np.testing.assert_array_equal(rule.same_hue(palette), wanted)


def test_the_nearest_to_a_step_is_taken_where_hue_counts_more_than_chroma() -> None:
    """The turn of hue by its own formula: 2 sqrt(C1 C2) sin(dh / 2), as in CIE 1976 dH."""
    palette = make_palette(80, seed=6)
    lightness, a, b = palette.oklab.T
    chroma, hue = np.hypot(a, b), np.arctan2(b, a)
    turn = 2 * np.sqrt(np.outer(chroma, chroma)) * np.sin((hue[:, None] - hue) / 2)
    grey = chroma < rule.GREY_CHROMA
    same = rule.same_hue(palette)
    for base, pair in enumerate(find_companions(palette)):
        if grey[base] or pair.lighter is None:
            continue
        rise = lightness - lightness[base]
        tint2 = (chroma - chroma[base]) ** 2 / 4 + 4 * turn[base] ** 2
        away = (rise - rule.STEP) ** 2 + tint2
        away[~(same[base] & (rise >= rule.NEAREST) & (rise <= rule.FARTHEST))] = np.inf
        assert pair.lighter == away.argmin()


def test_a_ramp_of_greys_steps_to_its_neighbours(tmp_path: Path) -> None:
    file = tmp_path / "greys.csv"
    file.write_text("code,hex\na,#303030\nb,#606060\nc,#909090\nd,#C0C0C0\n", encoding="utf-8")
    found = find_companions(read_palette(file))
    assert [pair.lighter for pair in found] == [1, 2, 3, None]
    assert [pair.darker for pair in found] == [None, 0, 1, 2]


def test_a_palette_file_names_its_own_and_keeps_them(tmp_path: Path) -> None:
    file = tmp_path / "own.csv"
    file.write_text("code,hex,lighter,darker\nr,#A02020,g,\ng,#20A020,,r\n", encoding="utf-8")
    palette = read_palette(file)
    assert find_companions(palette)[0].lighter == 1
    assert find_companions(palette)[1].darker == 0
    assert list(family(palette, 0)) == [0, 1]
    write_palette(tmp_path / "again.csv", palette)
    assert read_palette(tmp_path / "again.csv").beads == palette.beads


@pytest.mark.parametrize("wrong", ["x", "r"])
def test_a_companion_that_is_no_other_colour_is_refused(tmp_path: Path, wrong: str) -> None:
    file = tmp_path / "own.csv"
    file.write_text(f"code,hex,lighter\nr,#A02020,{wrong}\ng,#20A020,\n", encoding="utf-8")
    with pytest.raises(PaletteError, match=r"row 2, column lighter: '[xr]' is not another colour"):
        read_palette(file)


def test_a_plate_document_keeps_named_companions(tmp_path: Path) -> None:
    from img2plate.plate.document import read_plate, write_plate
    from img2plate.plate.plate import Plate

    file = tmp_path / "own.csv"
    file.write_text("code,hex,lighter,darker\nr,#A02020,g,\ng,#20A020,,r\n", encoding="utf-8")
    plate = Plate(np.zeros((3, 3), np.int16), read_palette(file))
    write_plate(tmp_path / "plate.png", plate)
    assert read_plate(tmp_path / "plate.png").palette.beads == plate.palette.beads
