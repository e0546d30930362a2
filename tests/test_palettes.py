"""The packaged palettes: made by their script, complete, even, and true to the standard."""

import csv
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from PIL import ImageColor

from img2plate.colour.difference import delta_E_CIE2000
from img2plate.colour.palette import Bead, Palette
from img2plate.colour.spaces import hex2srgb, linear2oklab

ROOT = Path(__file__).resolve().parent.parent
PALETTES = ROOT / "palettes"
OURS = {"quay-24": 24, "harbour-48": 48, "sea-96": 96}
FINISHES = {"solid", "clear", "pearl", "glow", "metallic"}


def head_and_rows(name: str) -> tuple[dict[str, str], list[dict[str, str]]]:
    """Read a palette file with nothing but the csv module."""
    lines = (PALETTES / f"{name}.csv").read_text("utf-8").splitlines()
    head = dict(line[2:].split(": ", 1) for line in lines if line.startswith("# "))
    return head, list(csv.DictReader(line for line in lines if not line.startswith("#")))


def palette(name: str) -> Palette:
    _, rows = head_and_rows(name)
    beads = [Bead(r["code"], r["name"], hex2srgb(r["hex"]), r["finish"]) for r in rows]
    return Palette(name, tuple(beads))


def nearest_pair(colours: Palette) -> float:
    """Smallest CIEDE2000 difference between two colours of a palette."""
    apart = delta_E_CIE2000(colours.lab[:, None], colours.lab[None])
    return float(apart[np.triu_indices(len(colours), 1)].min())


def test_the_script_makes_the_committed_files(tmp_path: Path) -> None:
    script = PALETTES / "make_palettes.py"
    subprocess.run([sys.executable, script, tmp_path], check=True)
    made = {path.name: path.read_bytes() for path in tmp_path.iterdir()}
    assert made == {path.name: path.read_bytes() for path in PALETTES.glob("*.csv")}


@pytest.mark.parametrize("name", [*OURS, "css-named"])
def test_head_comment_and_columns(name: str) -> None:
    head, rows = head_and_rows(name)
    assert head["name"] == name
    assert head["origin"]
    assert head["pitch"] == "5.0"
    assert "CC0-1.0" in head["licence"]
    assert head["bead"] == "5.0 x 2.6 x 5.0 mm (outer, hole, height; from memory)"
    assert all(list(row) == ["code", "name", "hex", "finish"] for row in rows)
    assert {row["finish"] for row in rows} <= FINISHES


@pytest.mark.parametrize(("name", "size"), OURS.items())
def test_sizes_codes_and_names(name: str, size: int) -> None:
    colours = palette(name)
    assert len(colours) == size
    assert len({bead.code for bead in colours.beads}) == size
    assert len({bead.name for bead in colours.beads}) == size
    for bead in colours.beads:
        letters = bead.code.removesuffix("+").removesuffix("-")
        assert len(letters) == 3
        assert letters.isalpha()
        assert letters.islower()


@pytest.mark.parametrize("name", OURS)
def test_no_two_colours_are_near(name: str) -> None:
    """Our own rule: 6 and more in CIEDE2000, so that no bead is bought twice."""
    apart = nearest_pair(palette(name))
    print(f"{name}: nearest pair {apart:.2f} in CIEDE2000")
    assert apart >= 6.0


def test_two_near_colours_would_be_noticed() -> None:
    beads = (Bead("one", "one", (120, 90, 60)), Bead("two", "two", (124, 92, 60)))
    assert nearest_pair(Palette("near", beads)) < 6.0


@pytest.mark.parametrize("name", OURS)
def test_each_base_has_a_lighter_and_a_darker_companion(name: str) -> None:
    colours = palette(name)
    light = {bead.code: colours.lab[i, 0] for i, bead in enumerate(colours.beads)}
    families = {code[:3] for code in light if len(code) == 4}
    assert len(families) * 3 + neutral_count(colours) == len(colours)
    for code in families:
        assert light[code + "+"] - 4 > light[code] > light[code + "-"] + 4


def neutral_count(colours: Palette) -> int:
    return sum(bead.srgb[0] == bead.srgb[1] == bead.srgb[2] for bead in colours.beads)


@pytest.mark.parametrize(("name", "greys"), [("quay-24", 6), ("harbour-48", 9), ("sea-96", 9)])
def test_neutrals_run_from_white_to_black(name: str, greys: int) -> None:
    colours = palette(name)
    assert neutral_count(colours) == greys
    lightness = colours.lab[:greys, 0]
    assert abs(lightness[0] - 95) < 0.5
    assert abs(lightness[-1] - 12) < 0.5
    steps = -np.diff(lightness)
    assert (steps > 9.5).all()
    assert (steps < 21.5).all()
    if greys == 9:
        assert np.ptp(steps) < 0.6, "even steps, up to rounding to 8 bits"


def test_all_colours_stay_inside_the_plastic_gamut() -> None:
    colours = palette("sea-96")
    assert colours.lab[:, 0].min() > 11.5
    assert colours.lab[:, 0].max() < 95.5
    ok = linear2oklab(colours.linear)
    chroma = np.hypot(ok[:, 1], ok[:, 2])
    assert chroma.max() < 0.237
    blue = np.cos(np.arctan2(ok[:, 2], ok[:, 1]) - np.radians(250)) > 0.7
    assert chroma[blue].max() < 0.205


def test_the_vivid_ring_has_even_hues() -> None:
    colours = palette("sea-96")
    ok = linear2oklab(colours.linear)
    base = [i for i, bead in enumerate(colours.beads) if len(bead.code) == 3][9 : 9 + 16]
    hues = np.degrees(np.arctan2(ok[base, 2], ok[base, 1]))
    assert np.allclose(np.diff(np.append(hues, hues[0])) % 360, 22.5, atol=1.0)


def test_the_bigger_palettes_hold_the_smaller_ones() -> None:
    small, middle, big = (set(palette(name).beads) for name in OURS)
    assert small < middle < big


def test_css_named_agrees_with_the_standard() -> None:
    """CSS Color Module Level 4, section 6.1; and with a second copy, Pillow's colour names."""
    rows = palette("css-named").beads
    text = (ROOT / "tests" / "data" / "css-named-colours.csv").read_text("utf-8")
    table = list(csv.DictReader(x for x in text.splitlines() if not x.startswith("#")))
    standard = {row["name"]: (int(row["R8"]), int(row["G8"]), int(row["B8"])) for row in table}
    assert {bead.code: bead.srgb for bead in rows} == standard
    assert len(rows) == 148
    assert len({bead.srgb for bead in rows}) == 139
    pillow = {name: ImageColor.getrgb(name) for name in ImageColor.colormap}
    assert len(pillow) >= 147
    assert {name: standard[name] for name in pillow} == pillow
