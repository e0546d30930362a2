"""The template, read back: numbers in cells are the roles of the beads, all of them to choose."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pypdfium2
import pytest
from command import good
from reader import page_words, tile_pages
from support import SAMPLES

from img2plate.colour.companions import find_companions
from img2plate.colour.palette_file import find_palette
from img2plate.plate.document import read_plate
from img2plate.plate.offers import offers
from img2plate.plate.plate import Plate
from img2plate.plate.recolouring import main_colour
from img2plate.plate.roles import find_groups
from img2plate.plate.shades import shades
from img2plate.plate.usage import usage_of
from img2plate.typeset.look import contrast
from img2plate.typeset.template.chooser import tint

DPI = 300


@pytest.fixture(scope="module")
def pack(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A sprite on four boards, its sheets mirrored."""
    out = tmp_path_factory.mktemp("packs")
    good("make", SAMPLES / "trawler.png", "--template", "--front", "board-side", "--out", out)
    return out / "trawler"


def role_table(plate: Plate) -> np.ndarray:
    """Number of each cell by the colour of its bead, 0 where none is."""
    table = np.zeros(len(plate.palette) + 1, int)
    for group in find_groups(plate):
        for role in group.roles:
            table[role.index] = role.number
    return table[plate.cells]


def numbers_in_cells(path: Path, plate: Plate) -> np.ndarray:
    """Numbers written in cells, by where their letters stand on the page (of tiles with pages of
    their own); 0 where none is, -1 where the tile shares its page."""
    found = np.full(plate.cells.shape, -1)
    words = page_words(path)
    document = pypdfium2.PdfDocument(path)
    for tile in tile_pages(path, DPI):
        if len(re.findall(r"columns \d+ to", tile.words)) != 1:
            continue
        page = document[words.index(tile.words)]
        text, high = page.get_textpage(), page.get_height()
        (c0, c1), (r0, r1) = tile.columns, tile.rows
        seen = np.zeros((r1 - r0 + 1, c1 - c0 + 1), int)
        points = 72 / 25.4 * 5
        left, top = tile.left * 72 / DPI, tile.top * 72 / DPI
        for place in range(text.count_chars()):
            if (letter := text.get_text_range(place, 1)).isdigit():
                x0, low, x1, up = text.get_charbox(place)
                x, y = ((x0 + x1) / 2 - left) / points, (high - (low + up) / 2 - top) / points
                if 0 < x < seen.shape[1] and 0 < y < seen.shape[0]:
                    seen[int(y), int(x)] = seen[int(y), int(x)] * 10 + int(letter)
        found[r0 - 1 : r1, c0 - 1 : c1] = seen[:, ::-1] if tile.mirrored else seen
    document.close()
    return found


def test_the_numbers_in_the_cells_are_those_of_the_beads_roles(pack: Path) -> None:
    plate = read_plate(pack / "plate.png")
    seen = numbers_in_cells(pack / "template.pdf", plate)
    read = seen >= 0
    assert read.mean() > 0.5
    assert (seen[read] == role_table(plate)[read]).all()


def test_every_role_is_on_the_chooser_with_number_and_beads(pack: Path) -> None:
    plate = read_plate(pack / "plate.png")
    # A hyphen at the end of a line is given as a mark of its own.
    first = page_words(pack / "template.pdf")[0].replace("\ufffe", "-\n")
    lines = {" ".join(line.split()) for line in first.splitlines()}
    groups, counts = find_groups(plate), plate.counts()
    roles = [role for group in groups for role in group.roles]
    assert [role.number for role in roles] == list(range(1, len(roles) + 1))
    assert {role.index for role in roles} == set(np.flatnonzero(counts).tolist())
    text = "\n".join(lines)
    for role in roles:
        assert role.beads == counts[role.index]
        words = rf"\b{role.number}\s+{re.escape(role.name)}\s+{role.beads}\b"
        assert re.search(words, text), (role, text)
        assert plate.palette.beads[role.index].code in text
    assert first.count("my choice") == first.count("as it is") == len(groups)


def test_a_group_is_what_recolour_changes_together(pack: Path) -> None:
    plate = read_plate(pack / "plate.png")
    groups, light = find_groups(plate), plate.palette.oklab[:, 0]
    meant = main_colour(usage_of(plate))
    first = next(g for g in groups if g.base.index == meant)
    assert {role.index for role in first.roles} == set(shades(usage_of(plate), meant).tolist())
    for group in groups:
        assert {r.index for r in group.roles} <= set(
            shades(usage_of(plate), group.base.index).tolist()
        )
        for role in group.roles:
            rise = light[role.index] - light[group.base.index]
            assert np.sign(role.step) == np.sign(rise) or rise == 0
            word = {-1: "shade", 0: "", 1: "light"}[int(np.sign(role.step))]
            assert role.name.startswith(f"colour {group.base.number}{' ' * bool(word)}{word}")


@pytest.mark.parametrize("name", ["harbour-48", "sea-96"])
def test_offers_are_companions_in_order_of_lightness(name: str) -> None:
    palette = find_palette(name)
    pairs = find_companions(palette)
    base = next(i for i, p in enumerate(pairs) if p.lighter is not None and p.darker is not None)
    cells = np.full((6, 9), base, np.int16)
    cells[1:3, 1:3], cells[3:5, 3:6] = pairs[base].lighter, pairs[base].darker
    plate = Plate(cells, palette)
    (group, *rest) = find_groups(plate)
    assert not rest
    found = offers(plate, group, 4)
    assert len(found) == 4
    light = palette.oklab[:, 0]
    for offer in found:
        by_step = dict(zip((role.step for role in group.roles), offer.beads, strict=True))
        assert by_step[0] == offer.base != base
        assert by_step.get(1) == pairs[offer.base].lighter
        assert by_step.get(-1) == pairs[offer.base].darker
        assert light[by_step[-1]] < light[by_step[0]] < light[by_step[1]]


def test_cells_are_pale_and_there_is_a_template_only_when_asked_for(
    pack: Path, tmp_path: Path
) -> None:
    plate = read_plate(pack / "plate.png")
    assert all(
        contrast(tint(role), "#ffffff") < 1.35 for g in find_groups(plate) for role in g.roles
    )
    good("sheets", pack / "plate.png", "--out", tmp_path)  # the plate says that it had one
    assert (tmp_path / "trawler/template.pdf").read_bytes() == (pack / "template.pdf").read_bytes()
    good("make", SAMPLES / "anchor.png", "--out", tmp_path)
    assert not (tmp_path / "anchor" / "template.pdf").exists()
