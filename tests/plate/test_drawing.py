"""Beads of drawings: one a flat colour, what touches apart, grey in neutral beads."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import skimage.data
from drawn_pictures import anchor, on_cells, softly
from PIL import Image, ImageDraw

from img2plate.colour.palette import Bead, Palette
from img2plate.colour.palette_file import find_palette
from img2plate.colour.spaces import bytes2linear
from img2plate.image.grid import Grid
from img2plate.image.kind.kind import Kind
from img2plate.image.sizing import SizeWish
from img2plate.image.source_options import SourceOptions
from img2plate.image.target import read_target
from img2plate.inventory.stock import Stock
from img2plate.plate.limits.choice import ChoiceOptions, shade_chosen
from img2plate.plate.shade.drawing import match_drawing, nearest_neutral
from img2plate.plate.shade.shading import ShadingOptions, shade

HARBOUR = find_palette("harbour-48")


def chart() -> np.ndarray:
    """A chart in greys, black and white, 24 x 24 cells."""

    def draw(pen: ImageDraw.ImageDraw, cell: float) -> None:
        pen.polygon([(0, 14 * cell), (11 * cell, 9.4 * cell), (8 * cell, 24 * cell)],
                    fill="#9c9c9c", outline="#101010", width=round(0.5 * cell))  # fmt: skip
        pen.rectangle((16.3 * cell, 3.1 * cell, 22 * cell, 9 * cell), fill="#6e6e6e")
        pen.line((0, 4 * cell, 14 * cell, 6 * cell), fill="#ffffff", width=round(0.6 * cell))

    return softly((24, 24), "#d9d9d9", draw)


@pytest.mark.parametrize("name", ["harbour-48", "quay-24", "sea-96"])
def test_a_grey_drawing_gets_no_coloured_bead(name: str) -> None:
    palette = find_palette(name)
    cells = shade(on_cells(chart()).grid, palette).cells
    chroma = np.hypot(palette.lab[:, 1], palette.lab[:, 2])
    assert (chroma[np.unique(cells)] <= 12).all()
    assert len(np.unique(cells)) in (4, 5)


def test_a_grey_takes_a_coloured_bead_only_when_no_neutral_one_is_near() -> None:
    beads = (Bead("a", "rose", (150, 120, 125)), Bead("b", "grey", (120, 120, 120)))
    grey = bytes2linear(np.array([[140, 134, 135]], np.uint8))
    assert nearest_neutral(grey, Palette("two", beads), "hyab")[0] == 1
    beads = (beads[0], Bead("b", "black", (10, 10, 10)))
    assert nearest_neutral(grey, Palette("two", beads), "hyab")[0] == 0


def flat_grid(colours: list[tuple[int, int, int]]) -> Grid:
    """Stripes two cells wide of flat colours."""
    flat = np.arange(len(colours)).repeat(2)[None].repeat(4, axis=0).astype(np.int16)
    rgb = bytes2linear(np.array(colours, np.uint8))[flat].astype(np.float32)
    return Grid(rgb, np.ones(flat.shape, np.float32), "", Kind.DRAWING, flat=flat)


def test_colours_that_touch_stay_apart_but_not_at_any_price() -> None:
    white = Bead("w", "white", (245, 245, 245))
    grey = Bead("g", "grey", (215, 213, 208))
    tan = Bead("t", "tan", (190, 175, 140))
    cream, sky, paper = (244, 239, 226), (220, 235, 242), (240, 240, 228)
    cells, notes = match_drawing(flat_grid([cream, sky]), Palette("p", (white, grey)))
    assert len(np.unique(cells)) == 2
    assert "kept apart" in notes[0]
    cells, _ = match_drawing(flat_grid([cream, paper]), Palette("p", (white, tan)))
    assert len(np.unique(cells)) == 1, "two papers are not worth a tan bead"


def test_few_colours_and_the_stock_are_kept_to() -> None:
    grid = on_cells(anchor(15)).grid
    few = shade_chosen(grid, HARBOUR, None, ChoiceOptions(colours=2)).cells
    assert len(np.unique(few[few >= 0])) == 2
    wish = shade(grid, HARBOUR).cells
    bead = int(np.bincount(wish[wish >= 0]).argmax())
    owned = {b.code: 10_000 for b in HARBOUR.beads} | {HARBOUR.beads[bead].code: 60}
    rows = {code: number for number, code in enumerate(owned, 1)}
    stock = Stock(Path("stock.csv"), (), ("code", "count"), ",", owned, rows)
    cells = shade_chosen(grid, HARBOUR, None, stock=stock).cells
    assert ((cells >= 0) == grid.filled).all()
    assert (cells == bead).sum() <= 60


def test_a_moved_drawing_is_compared_with_the_picture_under_its_cells(tmp_path: Path) -> None:
    pixels = np.roll(anchor(15), 4, axis=(0, 1))
    Image.fromarray(pixels).save(tmp_path / "a.png")
    options = SourceOptions(source="drawing")
    target = read_target(tmp_path / "a.png", SizeWish(30, 30), options)
    assert target.framing.box[0] != 0
    for fine in (target.fine(3), target.as_given(3)):
        middle = fine.rgb.reshape(30, 3, 30, 3, 3)[:, 1, :, 1].mean(axis=-1)
        dark = target.grid.filled & (target.grid.rgb.mean(axis=-1) < 0.1)
        assert (middle[dark] < 0.4).mean() > 0.9


@pytest.mark.parametrize("shading", ["none", "search", "floyd-steinberg", "bayer"])
def test_a_photo_that_is_called_a_drawing_gets_a_plate(shading: str, tmp_path: Path) -> None:
    Image.fromarray(skimage.data.coffee()).save(tmp_path / "c.png")
    target = read_target(tmp_path / "c.png", SizeWish(24, 24), SourceOptions(source="drawing"))
    cells = shade(target.grid, HARBOUR, ShadingOptions(shading)).cells
    assert (cells >= 0).all()
    assert len(np.unique(cells)) > 6
