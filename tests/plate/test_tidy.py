"""Tidying, keeping a sprite's drawing, and the options in front of them."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support import make_palette

from img2plate.base.errors import OptionError
from img2plate.base.specks import speck_share, specks_of
from img2plate.colour.palette import Bead, Palette
from img2plate.colour.spaces import bytes2linear
from img2plate.image.grid import Grid
from img2plate.image.kind.kind import Kind
from img2plate.plate.shade.shading import SHADINGS, ShadingOptions, most_specks, shade
from img2plate.plate.shade.sprite import drawn_cells, match_sprite
from img2plate.plate.shade.tidy import tidy
from img2plate.plate.shade.tones import into_hull


def palette_of(*colours: str) -> Palette:
    beads = [Bead(f"c{i}", c, tuple(bytes.fromhex(c))) for i, c in enumerate(colours)]  # type: ignore[arg-type]
    return Palette("few", tuple(beads))


def sprite_of(rows: list[str], colours: dict[str, str]) -> Grid:
    srgb = np.array(
        [[list(bytes.fromhex(colours.get(c, "000000"))) for c in r] for r in rows], np.uint8
    )
    cover = np.array([[c != "." for c in r] for r in rows], np.float32)
    return Grid(bytes2linear(srgb).astype(np.float32), cover, kind=Kind.OWN_SIZE)


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 10_000), st.sampled_from([0.0, 0.02, 0.1, 0.3]))
def test_specks_fall_to_the_share_asked_for(seed: int, most: float) -> None:
    """On pictures without anything that stands out."""
    rng = np.random.default_rng(seed)
    palette = make_palette(6, seed=3)
    cells = rng.integers(-1, 6, (rng.integers(2, 20), rng.integers(2, 20))).astype(np.int16)
    rgb = np.full((*cells.shape, 3), 0.4)
    done = tidy(cells, rgb, palette, most)
    np.testing.assert_array_equal(done < 0, cells < 0)
    lonely = specks_of(np.where(cells >= 0, 0, -1).astype(np.int16)).sum()  # no neighbour at all
    assert specks_of(done).sum() <= max(int(most * (cells >= 0).sum()), lonely)
    assert specks_of(cells).mean() == pytest.approx(speck_share(cells) * (cells >= 0).mean())


def test_the_cheapest_specks_go_first_and_an_eye_stays() -> None:
    palette = palette_of("f0e0d0", "e8d0c0", "101010", "d8b0a0")
    cells = np.zeros((7, 9), np.int16)
    cells[1, 1], cells[3, 4], cells[5, 7] = 1, 2, 3
    rgb = palette.linear[cells]
    assert specks_of(tidy(cells, rgb, palette, 2 / 63)).sum() == 2
    assert tidy(cells, rgb, palette, 2 / 63)[1, 1] == 0  # the likest colour is merged
    all_gone = tidy(cells, rgb, palette, 0.0)
    assert all_gone[3, 4] == 2
    assert (all_gone == 0).sum() == 62


def test_touching_colours_are_kept_apart_and_the_rest_is_said() -> None:
    """An eye and a face that both lie nearest to one bead."""
    palette = palette_of("f0c8a0", "c07830", "202020")
    rows = ["ffff", "feff", "ffff"]
    grid = sprite_of(rows, {"f": "f4c49a", "e": "d8a878"})
    cells, notes = match_sprite(grid, palette, keep_apart=40)
    assert (cells == 0).sum() == 11
    assert cells[1, 1] == 1
    assert "kept apart" in notes[0]
    cells, notes = match_sprite(grid, palette, keep_apart=5)
    assert (cells == 0).all()
    assert "became one" in notes[0]


def test_shades_of_a_soft_picture_are_not_pulled_apart() -> None:
    """A green with many shades stays green: no other bead is taken to tell two of them apart."""
    palette = palette_of("98b040", "e8c8c0", "202020")
    shades = [f"{120 + 2 * i:02x}{150 + 2 * i:02x}{50 + i:02x}" for i in range(40)]
    letters = [chr(0x4E00 + i) for i in range(40)]
    rows = ["".join(letters[i : i + 8]) for i in range(0, 40, 8)]
    cells, notes = match_sprite(
        sprite_of(rows, dict(zip(letters, shades, strict=True))), palette, keep_apart=60
    )
    assert (cells == 0).all()
    assert not notes


def test_a_colour_that_the_palette_has_is_kept_exactly() -> None:
    palette = palette_of("f0c8a0", "e8c098", "202020")
    grid = sprite_of(["ab", "ba"], {"a": "f0c8a0", "b": "f2caa2"})
    cells, _ = match_sprite(grid, palette, keep_apart=50)
    assert cells[0, 0] == cells[1, 1] == 0


@pytest.mark.parametrize("shading", SHADINGS)
def test_flat_areas_and_lines_of_a_sprite_are_never_speckled(shading: str) -> None:
    rng = np.random.default_rng(2)
    rows = ["." * 12, ".kkkkkkkkkk.", *[".kaaaabbbbk."] * 6, ".kkkkkkkkkk.", "." * 12]
    grid = sprite_of(rows, {"k": "181820", "a": "8899aa", "b": "cc5544"})
    palette = make_palette(30, seed=int(rng.integers(100)))
    cells = shade(grid, palette, ShadingOptions(shading)).cells
    for mark in "kab":
        where = np.array([[c == mark for c in r] for r in rows])
        assert len(np.unique(cells[where])) == 1
    np.testing.assert_array_equal(cells >= 0, grid.filled)


def test_drawn_cells_are_flat_or_owned() -> None:
    palette = palette_of("0000ff")
    grid = sprite_of(["aa.q", "..z."], {"a": "112233", "q": "0000ff", "z": "445566"})
    np.testing.assert_array_equal(
        drawn_cells(grid, palette), [[True, True, False, True], [False, False, False, False]]
    )


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 10_000))
def test_tones_come_into_the_hull_and_what_is_inside_stays(seed: int) -> None:
    rng = np.random.default_rng(seed)
    palette = make_palette(int(rng.integers(5, 40)), seed=seed)
    mixed = rng.dirichlet(np.ones(len(palette)), 50) @ palette.linear
    np.testing.assert_allclose(into_hull(mixed, palette), mixed, atol=1e-9)
    once = into_hull(rng.random((50, 3)), palette)
    np.testing.assert_allclose(into_hull(once, palette), once, atol=1e-6)


def test_a_palette_without_volume_leaves_tones_alone() -> None:
    rgb = np.random.default_rng(0).random((4, 5, 3))
    greys = palette_of("333333", "888888", "cccccc", "ffffff")
    for palette in (palette_of("000000", "ffffff"), greys):
        np.testing.assert_array_equal(into_hull(rgb, palette), rgb)


@pytest.mark.parametrize(
    ("options", "named"),
    [
        (ShadingOptions("stripes"), "`shading`"),
        (ShadingOptions(difference="far"), "`difference`"),
        (ShadingOptions("bayer", strength=1.5), "`strength`"),
        (ShadingOptions("none", strength=0.5), "`strength`.*none"),
        (ShadingOptions("search", strength=0.0), "`strength`.*search"),
        (ShadingOptions(specks="many"), "`specks`"),
        (ShadingOptions(specks="-3"), "`specks`"),
        (ShadingOptions(specks="101%"), "`specks`"),
        (ShadingOptions(keep_apart=-1), "`keep_apart`"),
    ],
)
def test_options_that_make_no_sense(options: ShadingOptions, named: str) -> None:
    grid = Grid(np.zeros((2, 2, 3), np.float32), np.ones((2, 2), np.float32))
    with pytest.raises(OptionError, match=named):
        shade(grid, make_palette(4), options)


def test_words_and_percentages_for_specks() -> None:
    words = {"any": 1.0, "few": 0.05, "none": 0.0, "12": 0.12, "7.5%": 0.075}
    assert {word: most_specks(word) for word in words} == words


def test_specks_hold_for_every_shading() -> None:
    ramp = np.linspace(0.1, 0.5, 40)[None, :, None] * np.ones((40, 1, 3))
    grid = Grid(ramp.astype(np.float32), np.ones((40, 40), np.float32))
    palette = make_palette(24, seed=12)
    for shading in SHADINGS:
        for specks, most in (("few", 0.05), ("2", 0.02), ("none", 0.0)):
            cells = shade(grid, palette, ShadingOptions(shading, specks=specks)).cells
            by_price = shading == "search" and specks == "few"
            assert speck_share(cells) <= most + (0.03 if by_price else 0.0)
