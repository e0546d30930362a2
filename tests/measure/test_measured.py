"""A palette measured from rendered photos of a card whose colours are known.

The limits are those asked for: mean CIEDE2000 at most 2, worst at most 5. bench/bench_ways.py
measures many more photos.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from card_photos import EMPTY_CELLS, Photo, photo
from PIL import Image, ImageFilter
from support import some

from img2plate.base.errors import PaletteError, PictureError
from img2plate.colour.difference import delta_E_CIE2000
from img2plate.colour.names import nearest_keywords
from img2plate.colour.palette_file import read_palette
from img2plate.colour.spaces import linear2lab, linear2srgb, srgb2linear
from img2plate.measure.card import CARDS, CELLS, MARKERS, marker_bits
from img2plate.measure.cells import Cell
from img2plate.measure.dark import restore_chroma
from img2plate.measure.measured import CardPhoto, combine, read_card, read_names
from img2plate.pipeline.palette import measure

SMALL = (1350, 1800)
"""Pixels of a photo across and down, where no more is proved by a larger one."""


@cache
def taken(seed: int) -> tuple[Photo, CardPhoto]:
    made = photo(seed, size=SMALL)
    return made, read_card(made.srgb, f"photo {seed}")


def errors(made: Photo, read: CardPhoto) -> np.ndarray:
    found = [
        (cell.linear, made.truth[cell.number]) for cell in read.cells if cell.linear is not None
    ]
    got, truth = np.array([f[0] for f in found]), np.array([f[1] for f in found])
    return np.asarray(delta_E_CIE2000(linear2lab(got), linear2lab(truth)))


@pytest.mark.parametrize("seed", some(0, long=[1, 2]))
def test_colours_come_out_under_light_cast_perspective_blur_noise_and_jpeg(seed: int) -> None:
    made, read = taken(seed)
    off = errors(made, read)
    assert len(off) == len(CELLS) - len(EMPTY_CELLS)
    assert off.mean() <= 2
    assert off.max() <= 5


def test_empty_cells_are_said_and_the_rest_goes_on() -> None:
    _, read = taken(0)
    assert [cell.number for cell in read.cells if cell.trouble == "empty"] == list(EMPTY_CELLS)
    assert "empty cells: 5, 17" in combine([read], title="x").notes


def test_hidden_markers_are_named_and_the_rest_is_measured() -> None:
    made = photo(1, size=SMALL, hide=(0, 5))
    read = read_card(made.srgb, "hidden")
    assert "hidden: marker hidden: top left, middle right" in read.notes
    assert errors(made, read).mean() <= 2.5


def test_a_bright_photo_is_called_clipped_and_a_shaken_one_blurred() -> None:
    bright = read_card(photo(2, size=SMALL, exposure=1.6).srgb, "bright")
    assert sum("clipped" in cell.trouble for cell in bright.cells) > len(CELLS) / 2
    shaken = read_card(photo(2, size=SMALL, blur=2.6).srgb, "shaken")
    assert sum(cell.trouble.startswith("blurred") for cell in shaken.cells) > len(CELLS) / 2


def test_several_photos_of_one_card_are_combined() -> None:
    """The median of each cell: one photo in glare moves nothing, and one that misses a cell is
    made up for by the others."""
    _, read = taken(0)
    alone = combine([read], title="x")
    bright, dark = (
        replace(read, cells=tuple(_lit(cell, factor) for cell in read.cells))
        for factor in (1.3, 0.8)
    )
    several = combine([bright, read, dark], title="x")
    assert several.palette.beads == alone.palette.beads
    assert all(np.array(several.spread) > np.array(alone.spread) - 1e-9)
    assert several.spread[0] > alone.spread[0] + 1
    first = next(cell.number for cell in read.cells if cell.linear is not None)
    missed = replace(read.cells[first - 1], linear=None, trouble="blurred")
    without = replace(read, cells=tuple(missed if c.number == first else c for c in read.cells))
    assert combine([without], title="x").palette.beads == alone.palette.beads[1:]
    assert combine([without, read], title="x").palette.beads == alone.palette.beads


def _lit(cell: Cell, factor: float) -> Cell:
    """The cell in other light."""
    return cell if cell.linear is None else replace(cell, linear=cell.linear * factor)


def test_a_picture_without_a_card_is_refused_with_what_to_do() -> None:
    from skimage import data

    with pytest.raises(PictureError, match=r"astronaut: 0 of the card's 6 corner markers are seen"):
        read_card(np.ascontiguousarray(data.astronaut()), "astronaut")


def test_nearest_keywords_are_those_of_css() -> None:
    colours = np.array([(255, 0, 0), (70, 130, 181), (1, 1, 1)], np.uint8)
    assert nearest_keywords(colours) == ["red", "steelblue", "black"]


def test_the_markers_differ_in_every_turn() -> None:
    seen = set()
    for number in range(len(MARKERS) * len(CARDS)):
        for turn in range(4):
            seen.add(np.rot90(marker_bits(number), turn).tobytes())
    assert len(seen) == 4 * len(MARKERS) * len(CARDS)


def test_files_are_written_with_names_given(tmp_path: Path) -> None:
    made, _ = taken(0)
    Image.fromarray(made.srgb).save(tmp_path / "card.jpg", quality=95)
    names = tmp_path / "names.csv"
    names.write_text("cell,code,name\n1,gul,gull wing\n", encoding="utf-8")
    done = measure([tmp_path / "card.jpg"], tmp_path / "mine.csv", names=names)
    palette = read_palette(tmp_path / "mine.csv")
    assert len(palette) == 33
    assert (palette.beads[0].code, palette.beads[0].name) == ("gul", "gull wing")
    assert palette.beads[1].code == "m02"
    assert "spread" in (tmp_path / "mine.csv").read_text(encoding="utf-8")
    assert (tmp_path / "mine-card-looked.png").is_file()
    assert len(done.files) == 2


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("cell,code\n99,x\n", "row 2, column cell: '99' is not a cell from 1 to 35"),
        ("code,name\nx,y\n", "no column 'cell'; the header is cell"),
        ("cell,code\n1,x\n2,x\n", "row 3, column code: 'x' is on row 2 too"),
        ("cell,code\n\n1,x\n1,y\n", "row 4, column cell: '1' is on row 3 too"),
    ],
)
def test_a_wrong_names_file_is_refused(tmp_path: Path, text: str, said: str) -> None:
    names = tmp_path / "names.csv"
    names.write_text(text, encoding="utf-8")
    with pytest.raises(PaletteError, match=said):
        read_names(names)


def test_codes_stay_unique_when_a_name_takes_the_code_of_another_cell() -> None:
    _, read = taken(0)
    palette = combine([read], title="x", names={1: ("m02", "")}).palette
    assert len(palette.by_code) == len(palette)


@pytest.mark.parametrize(
    ("seed", "fill"), [(21, 0.7), pytest.param(20, 0.86, marks=pytest.mark.soak)]
)
def test_the_card_for_small_beads_is_known_by_its_markers(seed: int, fill: float) -> None:
    made = photo(seed, card=CARDS[1], fill=fill)
    read = read_card(made.srgb, "small")
    palette = combine([read], title="x").palette
    assert (palette.pitch_mm, palette.bead_size.outer_mm) == (2.6, 2.6)
    off = errors(made, read)
    assert len(off) == len(CELLS) - len(EMPTY_CELLS)
    assert off.mean() <= 2
    assert off.max() <= 5


def test_photos_of_cards_of_two_sizes_are_refused() -> None:
    _, large = taken(0)
    small = CardPhoto("small", replace(large.card, kind=CARDS[1]), large.cells, ())
    with pytest.raises(PictureError, match="cards of two bead sizes"):
        combine([large, small], title="x")


def test_holes_that_look_like_the_beads_do_not_hide_them() -> None:
    # A grey of L* 44 is just what the renderer's holes look like in beads of that grey.
    made = photo(3, size=SMALL, greys=(0.40, 0.46))
    assert errors(made, read_card(made.srgb, "grey")).max() <= 2.5


def test_near_black_beads_get_their_chroma_back() -> None:
    bead, paper = srgb2linear(np.array([0.13, 0.03, 0.12])), np.full(3, 0.14)
    y, x = np.mgrid[:102, :102] / 6.0
    away = np.hypot((x % 4.9) - 2.45, (y % 4.9) - 2.45)
    is_bead = (away > 1.3) & (away < 2.45)
    srgb = linear2srgb(np.where(is_bead[..., None], bead, paper))
    luma = srgb @ np.array([0.299, 0.587, 0.114])
    flat = luma[..., None] + (srgb - luma[..., None]).mean(axis=(0, 1))  # as a coarse JPEG has it
    got = restore_chroma(srgb2linear(flat[is_bead][0]), srgb2linear(flat), away)
    before, after = (
        float(delta_E_CIE2000(linear2lab(colour), linear2lab(bead)))
        for colour in (srgb2linear(flat[is_bead][0]), got)
    )
    assert before > 5
    assert after < 1.5
    dull = np.full((102, 102, 3), 0.02)  # no paper is seen: left as it is
    assert (restore_chroma(dull[0, 0], dull, away) == dull[0, 0]).all()


def smear(photo: np.ndarray) -> np.ndarray:
    """One part of a photo out of focus."""
    image, box = Image.fromarray(photo), (500, 600, 1000, 1100)
    image.paste(image.crop(box).filter(ImageFilter.GaussianBlur(5)), box)
    return np.asarray(image)


def glare(photo: np.ndarray) -> np.ndarray:
    """A lamp mirrored in one place."""
    y, x = np.ogrid[: photo.shape[0], : photo.shape[1]]
    lamp = 260 * np.exp(-(((x - 1000) / 180) ** 2) - ((y - 1500) / 180) ** 2)
    return np.clip(photo + lamp[..., None], 0, 255).astype(np.uint8)


def shade(photo: np.ndarray) -> np.ndarray:
    """The edge of a shadow across the card."""
    return (photo * np.where(np.arange(photo.shape[1]) < 900, 0.7, 1.0)[:, None]).astype(np.uint8)


def shade_corners(photo: np.ndarray) -> np.ndarray:
    """A shadow that covers corners of cells."""
    y, x = np.ogrid[: photo.shape[0], : photo.shape[1]]
    return (photo * np.where((x + y) % 900 < 450, 0.75, 1.0)[..., None]).astype(np.uint8)


@pytest.mark.parametrize(
    ("spoil", "said"),
    [
        (smear, "are blurred, or something lies on the line"),
        (glare, "are in glare or at the edge of a shadow"),
        (shade, "are in glare or at the edge of a shadow"),
        (shade_corners, "are in glare or at the edge of a shadow"),
    ],
)
def test_spoilt_cells_are_named_and_all_others_come_out(
    spoil: Callable[[np.ndarray], np.ndarray], said: str
) -> None:
    made, _ = taken(0)
    read = read_card(spoil(made.srgb), "spoilt")
    assert any(said in note for note in read.notes)
    off = errors(made, read)
    assert 5 < len(off) < len(CELLS) - len(EMPTY_CELLS)
    assert off.mean() <= 2
    assert off.max() <= 5


def test_a_small_photo_is_said_to_be_small_and_one_that_is_cut_off_is_read_as_far_as_it_goes() -> (
    None
):
    made, _ = taken(0)
    small = np.asarray(Image.fromarray(made.srgb).resize((600, 800)))
    assert any("a bead is only 12 pixels" in note for note in read_card(small, "small").notes)
    cut = read_card(np.ascontiguousarray(made.srgb[:1280]), "cut")
    assert any("outside the photo" in note for note in cut.notes)
    assert not any("grey steps" in note for note in cut.notes)
    assert errors(made, cut).max() <= 5


def test_notes_on_cells_stay_within_their_cell() -> None:
    from img2plate.typeset.look import font
    from img2plate.typeset.measured import fitting

    for words in ("empty", "outside the photo", "in glare or shadow", "clipped: too bright"):
        lines, size = fitting(words, 96)
        assert " ".join(lines.split("\n")) == words
        assert size >= 9
        assert max(font(size, bold=True).getlength(line) for line in lines.split("\n")) <= 96
