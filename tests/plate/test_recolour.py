"""Colourways: lightness keeps its order, what is not meant stays, touching colours stay apart."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support import SAMPLES, make_palette

from img2plate.base.errors import OptionError
from img2plate.colour.companions import family
from img2plate.colour.palette import Bead, Palette
from img2plate.colour.palette_file import find_palette
from img2plate.image.source_options import SourceOptions
from img2plate.image.target import read_target
from img2plate.plate.plate import Plate
from img2plate.plate.recolour import recolour
from img2plate.plate.recolouring import _keep_order, main_colour
from img2plate.plate.shade.shading import shade
from img2plate.plate.shades import shades
from img2plate.plate.usage import borders, usage_of


def some_plate(palette: Palette, seed: int) -> Plate:
    """Patches of a dozen of the palette's colours and of empty cells."""
    rng = np.random.default_rng(seed)
    used = np.append(rng.choice(len(palette), min(12, len(palette) - 1), replace=False), -1)
    patches = used[rng.integers(0, len(used), (8, 8))]
    patches[0, 0] = used[0]
    return Plate(np.kron(patches, np.ones((3, 3), int)).astype(np.int16), palette)


@settings(max_examples=60, deadline=None)
@given(seed=st.integers(0, 10_000), own=st.booleans())
def test_what_every_colourway_keeps(seed: int, own: bool) -> None:
    palette = make_palette(40, seed) if own else find_palette("harbour-48")
    plate = some_plate(palette, seed)
    base = main_colour(usage_of(plate))
    used = set(np.flatnonzero(plate.counts()).tolist())
    meant = set(shades(usage_of(plate), base).tolist())
    assert base in meant <= used & set(family(palette, base).tolist())
    lightness = palette.oklab[:, 0]
    targets = list(range(0, len(palette), 5))
    touching = usage_of(plate).touching
    for way in recolour(plate, targets):
        assert set(way.changed) == meant
        for one, two in combinations(meant, 2):
            before = np.sign(lightness[one] - lightness[two])
            after = np.sign(lightness[way.changed[one]] - lightness[way.changed[two]])
            assert before == after or after == 0 or before == 0
        stays = ~np.isin(plate.cells, list(meant))
        assert (way.plate.cells[stays] == plate.cells[stays]).all()
        new = {index: way.changed.get(index, index) for index in used}
        assert len(set(way.changed.values())) == len(meant)
        for one, two in combinations(used, 2):
            if touching[one, two]:
                assert new[one] != new[two]
        expected = np.append(np.arange(len(palette)), -1)
        for old, became in way.changed.items():
            expected[old] = became
        assert (way.plate.cells == expected[plate.cells]).all()


def test_the_base_becomes_the_target_and_its_shades_the_target_s_shades() -> None:
    palette = find_palette("harbour-48")
    at = palette.by_code
    cells = np.repeat([at["prt-"], at["prt"], at["prt+"], at["tar"]], 4).astype(np.int16)
    plate = Plate(np.tile(cells, (4, 1)), palette)
    (way,) = recolour(plate, [at["stb"]], base=at["prt"])
    assert way.changed[at["prt"]] == at["stb"]
    assert way.changed[at["prt-"]] == at["stb-"]
    assert way.changed[at["prt+"]] == at["stb+"]
    assert not way.notes


def test_the_assignment_is_the_cheapest_of_all() -> None:
    rng = np.random.default_rng(0)
    for _ in range(50):
        rows, columns = rng.integers(1, 4), rng.integers(4, 8)
        price = rng.random((rows, columns))
        best = min(
            price[range(rows), list(pick)].sum() for pick in combinations(range(columns), rows)
        )
        chosen = _keep_order(price)
        assert (np.diff(chosen) > 0).all()
        assert price[range(rows), chosen].sum() == pytest.approx(best)


def test_a_merge_is_said_when_the_palette_has_nothing_else() -> None:
    greys = Palette("two", (Bead("r", "r", (200, 30, 30)), Bead("b", "b", (30, 30, 200))))
    same = Palette("same", (*greys.beads, Bead("c", "c", (30, 30, 200))))
    plate = Plate(np.array([[0, 2]], np.int16), same)
    (way,) = recolour(plate, [1], base=0)
    assert way.changed == {0: 0}  # staying red is better than merging
    stuck = Palette("stuck", (Bead("b", "b", (30, 30, 200)), Bead("g", "g", (30, 30, 200), "glow")))
    (way,) = recolour(Plate(np.array([[0, 1]], np.int16), stuck), [1], base=0)
    assert "nothing else is left" in way.notes[-1]


def test_a_base_that_the_plate_does_not_use_is_refused() -> None:
    plate = Plate(np.zeros((2, 2), np.int16), find_palette("quay-24"))
    with pytest.raises(OptionError, match="no bead of tar"):
        recolour(plate, [1], base=5)


def test_two_codes_of_one_colour_do_not_make_two_shades_one() -> None:
    beads = [Bead(code, code, srgb) for code, srgb in {
        "r-": (120, 10, 10), "r": (200, 30, 30),
        "b-": (10, 10, 120), "b": (30, 30, 200), "b2": (30, 30, 200),
    }.items()]  # fmt: skip
    palette = Palette("twins", tuple(beads))
    (way,) = recolour(Plate(np.array([[0, 1]], np.int16), palette), [4], base=1)
    assert way.changed == {0: 2, 1: 4}
    few = Palette("few", (*beads[:2], beads[4], Bead("b3", "b3", (30, 30, 200))))
    assert len(np.unique(few.srgb, axis=0)) == 3
    (way,) = recolour(Plate(np.array([[0, 1]], np.int16), few), [2], base=1)
    assert few.beads[way.changed[0]].srgb != few.beads[way.changed[1]].srgb


def test_shades_that_become_of_one_colour_are_said_when_there_is_nothing_else() -> None:
    dark, red = (120, 10, 10), (200, 30, 30)
    palette = Palette("two", (
        Bead("r-", "r-", dark), Bead("d", "d", dark), Bead("r", "r", red), Bead("r2", "r2", red),
    ))  # fmt: skip
    plate = Plate(np.array([[0, 2, 3]], np.int16), palette)
    (way,) = recolour(plate, [1], base=2)
    assert way.changed == {0: 0, 2: 1, 3: 2}
    assert "r- and r, which touch, become of one colour; nothing else is left" in way.notes


def test_the_base_is_the_middle_shade_of_the_most_used_hue() -> None:
    palette = find_palette("harbour-48")
    at = palette.by_code
    cells = np.repeat([at["prt-"], at["prt"], at["prt+"], at["tar"]], [9, 8, 7, 90])
    assert main_colour(usage_of(Plate(cells[None].astype(np.int16), palette))) == at["prt"]


def test_what_is_to_stay_stays_though_it_is_of_the_base_s_hue() -> None:
    palette = find_palette("harbour-48")
    at = palette.by_code
    cells = np.array([[at["prt"], at["prt-"], at["buo"]]], np.int16)
    (way,) = recolour(Plate(cells, palette), [at["stb"]], base=at["prt"], keep=[at["buo"]])
    assert way.changed == {at["prt-"]: at["stb-"], at["prt"]: at["stb"]}
    assert way.plate.cells[0, 2] == at["buo"]
    with pytest.raises(OptionError, match="keep_colours`: prt is what is recoloured"):
        recolour(Plate(cells, palette), [at["stb"]], base=at["prt"], keep=[at["prt"]])


@settings(max_examples=30, deadline=None)
@given(seed=st.integers(0, 10_000), base=st.integers(0, 11))
def test_a_base_recoloured_to_itself_leaves_the_plate_as_it_is(seed: int, base: int) -> None:
    palette = find_palette("sea-96")
    plate = some_plate(palette, seed)
    used = np.flatnonzero(plate.counts())
    index = int(used[base % len(used)])
    (way,) = recolour(plate, [index], base=index)
    assert (way.plate.cells == plate.cells).all()
    assert all(old == new for old, new in way.changed.items())
    assert not way.notes


def test_skin_beside_a_coat_and_wood_below_a_hull_are_no_shades_of_it() -> None:
    """A red coat with its fold and its light, a face above it, planks of a boat below."""
    palette = find_palette("sea-96")
    drawn = """
        . . o o o o . .
        . . o s s o . .
        . . o s s o . .
        o o o s s o o o
        o R R + R R - o
        o R + R R R - o
        o R R R R - - o
        o R R R - R - o
        w w w w w w w w
        ~ ~ ~ ~ ~ ~ ~ ~
    """
    code = {
        ".": "",
        "o": "tar",
        "s": "shl",
        "R": "prt",
        "+": "prt+",
        "-": "prt-",
        "w": "buo-",
        "~": "hbr",
    }
    at = {sign: palette.by_code.get(name, -1) for sign, name in code.items()}
    rows = [row.split() for row in drawn.strip().splitlines()]
    cells = np.array([[at[sign] for sign in row] for row in rows])
    plate = Plate(cells.astype(np.int16), palette)
    red = {palette.by_code[name] for name in ("prt", "prt+", "prt-")}
    near = set(family(palette, at["R"]).tolist()) & set(np.flatnonzero(plate.counts()).tolist())
    assert {at["s"], at["w"]} <= near  # the hue alone does not tell them apart
    assert set(shades(usage_of(plate), at["R"]).tolist()) == red
    (way,) = recolour(plate, [palette.by_code["stb"]], base=at["R"], also=[at["w"]])
    assert set(way.changed) == red | {at["w"]}


def test_borders_count_beads_side_by_side() -> None:
    cells = np.array([[0, 1, 1], [0, -1, 2]], np.int16)
    assert borders(cells, 3).tolist() == [[0, 1, 0], [1, 0, 1], [0, 1, 0]]


def test_the_trawlers_red_does_not_take_its_orange_and_its_wood_along() -> None:
    palette = find_palette("harbour-48")
    grid = read_target(SAMPLES / "trawler.png", None, SourceOptions()).grid
    plate = Plate(shade(grid, palette).cells, palette)
    found = {palette.beads[i].code for i in shades(usage_of(plate), palette.by_code["prt"])}
    assert found == {"prt", "prt+", "prt-"}
