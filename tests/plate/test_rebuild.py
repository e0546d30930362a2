"""Rebuild: the best one-to-one beads in order, within what is owned; what may go together."""

from __future__ import annotations

from dataclasses import replace
from itertools import permutations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support import make_palette

from img2plate.base.errors import OptionError, StockError
from img2plate.colour.difference import delta_E_CIE2000
from img2plate.colour.palette import Bead, Palette
from img2plate.colour.palette_file import find_palette
from img2plate.plate.exchange import ExchangeOptions, exchange
from img2plate.plate.plate import Plate
from img2plate.plate.rebuild import changes_between, rebuild


def patches(palette: Palette, colours: int, seed: int) -> Plate:
    """Patches of some of a palette's colours, 3 x 3 beads each, and empty ones."""
    rng = np.random.default_rng(seed)
    used = rng.choice(len(palette), colours, replace=False)
    cells = np.append(used, -1)[rng.integers(0, colours + 1, (6, 6))]
    cells.flat[:colours] = used
    return Plate(np.kron(cells, np.ones((3, 3), int)).astype(np.int16), palette)


@settings(max_examples=30, deadline=None)
@given(seed=st.integers(0, 10_000))
def test_what_every_rebuilt_plate_keeps(seed: int) -> None:
    plate = patches(make_palette(30, seed), 8, seed)
    palette = make_palette(20, seed + 1)
    limits = np.random.default_rng(seed).integers(20, 400, 20)
    try:
        new = rebuild(plate, palette, limits=limits, one_to_one=True)
    except StockError:
        return
    assert (new.plate.counts() <= limits).all()
    assert (new.plate.filled == plate.filled).all()
    became = {change.old.code: change.new.code for change in new.changes}
    assert len(became) == len(set(became.values())) == len(new.changes)
    assert sum(change.beads for change in new.changes) == plate.bead_count
    assert [c.difference for c in new.changes] == sorted(
        (c.difference for c in new.changes), reverse=True
    )


@settings(max_examples=20, deadline=None)
@given(seed=st.integers(0, 10_000), name=st.sampled_from(["quay-24", "harbour-48", "css-named"]))
def test_in_its_own_palette_a_plate_stays_as_it_is(seed: int, name: str) -> None:
    plate = patches(find_palette(name), 12, seed)
    new = rebuild(plate, plate.palette)
    shown = plate.palette.srgb[new.plate.cells[plate.filled]]
    assert (shown == plate.palette.srgb[plate.cells[plate.filled]]).all()
    assert new.difference == 0


def test_it_is_the_least_sum_of_ciede2000_in_order() -> None:
    """Brute force over all one-to-one choices that keep shades of one hue in order."""
    reds = [(90, 10, 10), (150, 20, 20), (220, 60, 50)]
    own = Palette("own", tuple(Bead(f"r{i}", "r", srgb) for i, srgb in enumerate(reds)))
    plate = Plate(np.array([[0, 1, 2]] * 4, np.int16), own)
    for seed in range(20):
        palette = make_palette(6, seed)
        new = rebuild(plate, palette, one_to_one=True, difference="ciede2000")
        off = delta_E_CIE2000(own.lab[:, None], palette.lab[None])
        light = palette.oklab[:, 0]
        best = min(
            sum(off[i, pick[i]] for i in range(3))
            for pick in permutations(range(6), 3)
            if light[pick[0]] < light[pick[1]] < light[pick[2]]
        )
        assert sum(change.difference for change in new.changes) == pytest.approx(best, abs=1e-3)


def test_colours_go_together_only_where_that_is_nearer() -> None:
    greys = [Bead(f"g{i}", "g", (v, v, v)) for i, v in enumerate((40, 120, 128, 220))]
    plate = Plate(np.array([[0, 1, 2, 3]] * 3, np.int16), Palette("greys", tuple(greys)))
    few = Palette("few", (*greys[:2], greys[3], Bead("red", "red", (250, 0, 0))))
    new = rebuild(plate, few)
    assert {c.old.code: c.new.code for c in new.changes} == {
        "g0": "g0", "g1": "g1", "g2": "g1", "g3": "g3",
    }  # fmt: skip
    assert "go together: g1, g2 as g1" in new.notes[0]
    apart = rebuild(plate, few, one_to_one=True)
    assert len({c.new.code for c in apart.changes}) == 4


def test_a_palette_of_fewer_colours_lets_those_go_together_that_differ_least() -> None:
    plate = patches(find_palette("sea-96"), 30, 1)
    new = rebuild(plate, find_palette("quay-24"), one_to_one=True)
    assert len(new.changes) == 30
    assert len({c.new.code for c in new.changes}) == 24
    assert new.notes[0].startswith("colours that go together")


def test_what_is_not_owned_is_told_with_the_least_to_buy() -> None:
    plate = Plate(np.zeros((5, 4), np.int16), find_palette("quay-24"))
    code = plate.palette.beads[0].code
    limits = np.zeros(24, np.int64)
    limits[0] = 15
    with pytest.raises(StockError, match=rf"least to buy: 5 {code} \(for {code}\)"):
        rebuild(plate, plate.palette, limits=limits)


def test_a_fixed_colour_gets_its_bead_and_must_be_on_the_plate() -> None:
    palette = find_palette("harbour-48")
    at = palette.by_code
    plate = Plate(np.array([[at["prt"], at["prt-"], at["gul"]]] * 3, np.int16), palette)
    quay = find_palette("quay-24")
    new = rebuild(plate, quay, fixed={at["prt"]: quay.by_code["stb"]})
    assert (new.plate.cells[:, 0] == quay.by_code["stb"]).all()
    with pytest.raises(OptionError, match="no bead of lmp"):
        rebuild(plate, quay, fixed={at["lmp"]: 0})


def test_swaps_are_at_once_and_rare_colours_go_to_the_nearest_in_use() -> None:
    palette = find_palette("quay-24")
    a, b, c, rare = (palette.by_code[code] for code in ("prt", "stb", "gul", "mst"))
    cells = np.array([[a, a, b, b, c, c, rare]] * 3, np.int16)
    plate = Plate(cells, palette)
    swapped = exchange(plate, ExchangeOptions(swap=("prt:stb", "stb:prt")))
    assert (swapped.plate.cells[0] == [b, b, a, a, c, c, rare]).all()
    merged = exchange(plate, ExchangeOptions(merge_rare=4))
    assert (merged.plate.cells[0] == [a, a, b, b, c, c, c]).all()
    assert merged.notes == ("4 colours became 3: 3 mst as gul",)
    assert merged.plate.made["merge_rare"] == 4
    for wrong in ("prt", "prt:", "prt:nix", "nix:prt"):
        with pytest.raises(OptionError):
            exchange(plate, ExchangeOptions(swap=(wrong,)))
    with pytest.raises(OptionError, match="twice"):
        exchange(plate, ExchangeOptions(swap=("prt:stb", "prt:gul")))
    with pytest.raises(StockError, match="12 beads of stb, and 6"):
        exchange(plate, ExchangeOptions(swap=("prt:stb",)), np.full(24, 6))


def test_changes_between_plates_are_told_cell_by_cell() -> None:
    palette = find_palette("quay-24")
    old = Plate(np.array([[0, 0, 1, -1]], np.int16), palette)
    new = replace(old, cells=np.array([[0, 2, 1, -1]], np.int16))
    changes = changes_between(old, new)
    first = changes[0]
    assert (first.old.code, first.new.code, first.beads) == (
        palette.beads[0].code, palette.beads[2].code, 1,
    )  # fmt: skip
    assert [c.difference for c in changes[1:]] == [0, 0]
