"""The figures of a draft: against the picture that was given, not against what was made of it."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from enlargements import by_pillow, sample
from PIL import Image

from img2plate.base.errors import SizeError
from img2plate.colour.difference import delta_E_CIE1976
from img2plate.colour.palette_file import find_palette
from img2plate.colour.spaces import bytes2linear, linear2lab
from img2plate.image.source_options import SourceOptions
from img2plate.pipeline.draft import draft_plate
from img2plate.pipeline.options import MakeOptions, SizeOptions
from img2plate.plate.shade.shading import ShadingOptions

CSS = find_palette("css-named")


def sprite(seed: int = 4, side: int = 12) -> np.ndarray:
    """Random cells in colours that the palette has, with a see-through corner."""
    rng = np.random.default_rng(seed)
    table = np.array([bead.srgb for bead in CSS.beads], np.uint8)
    pixels = np.dstack([table[rng.integers(0, 9, (side, side))], np.full((side, side), 255)])
    pixels[:3, :4] = 0
    return pixels.astype(np.uint8)


def looks(pixels: np.ndarray, path: Path, options: MakeOptions | None = None):
    Image.fromarray(pixels).save(path)
    return draft_plate(path, options or MakeOptions(palette="css-named")).looks()


@pytest.mark.parametrize("times", [1, 7, 10])
def test_a_sprite_that_is_exactly_itself_scores_0(times: int, tmp_path: Path) -> None:
    large = sprite().repeat(times, axis=0).repeat(times, axis=1)
    found = looks(large, tmp_path / "s.png")
    assert found.error == pytest.approx(0, abs=1e-3)
    assert found.similarity == pytest.approx(1, abs=1e-6)


@pytest.mark.parametrize("size", [SizeOptions(width=24), SizeOptions(size=(29, 29), fit="contain")])
def test_so_does_one_on_whole_multiples_and_one_with_margins(
    size: SizeOptions, tmp_path: Path
) -> None:
    large = sprite().repeat(9, axis=0).repeat(9, axis=1)
    options = MakeOptions(palette="css-named", size=size)
    assert looks(large, tmp_path / "s.png", options).error == pytest.approx(0, abs=1e-3)


def test_and_one_whose_outer_cells_are_cut(tmp_path: Path) -> None:
    large = sprite().repeat(10, axis=0).repeat(10, axis=1)[:, 4:-3]
    assert looks(large, tmp_path / "s.png").error == pytest.approx(0, abs=1e-3)


def test_other_beads_than_the_sprites_count_by_their_colour(tmp_path: Path) -> None:
    """An even sprite in a palette without its colour: the plain difference of both colours."""
    pixels = np.zeros((12, 12, 4), np.uint8)
    pixels[:] = (255, 0, 0, 255)
    path = tmp_path / "s.png"
    Image.fromarray(pixels).save(path)
    draft = draft_plate(path, MakeOptions(palette="quay-24", source=SourceOptions("sprite")))
    one = linear2lab(bytes2linear(np.array([255, 0, 0], np.uint8)))
    two = linear2lab(draft.plate.linear()[0, 0])
    assert draft.looks().error == pytest.approx(float(delta_E_CIE1976(one, two)), rel=1e-3)


def test_a_wrong_grid_shows_in_the_figures(tmp_path: Path) -> None:
    pixels = sample("puffin")
    large = by_pillow(pixels, 6, Image.Resampling.NEAREST)
    height, width = pixels.shape[:2]
    found = {}
    for name, cells in (("right", (width, height)), ("wrong", (width // 3, height // 3))):
        source = SourceOptions(cells=cells)
        found[name] = looks(large, tmp_path / "s.png", MakeOptions(source=source))
    assert found["wrong"].error > 2.5 * found["right"].error
    assert found["wrong"].similarity < found["right"].similarity - 0.1


def test_a_background_that_is_filled_is_part_of_the_picture(tmp_path: Path) -> None:
    source = SourceOptions(background="#008080")
    large = sprite().repeat(8, axis=0).repeat(8, axis=1)
    options = MakeOptions(palette="css-named", source=source)
    assert looks(large, tmp_path / "s.png", options).error == pytest.approx(0, abs=1e-3)


def large_photo(path: Path) -> Path:
    Image.fromarray(np.random.default_rng(2).integers(0, 255, (160, 160, 3), np.uint8)).save(path)
    return path


def test_a_very_large_plate_is_asked_about_before_beads_are_chosen(tmp_path: Path) -> None:
    path, asked = large_photo(tmp_path / "p.png"), list[str]()
    options = MakeOptions(source=SourceOptions("photo"), size=SizeOptions(width=160))

    def no(what: str) -> bool:
        asked.append(what)
        return False

    with pytest.raises(SizeError, match="25,600 beads"):
        draft_plate(path, options, ask=no)
    assert "28 hours" in asked[0]


def test_where_nobody_can_answer_it_is_a_note(tmp_path: Path) -> None:
    path = large_photo(tmp_path / "p.png")
    shading = ShadingOptions("none")
    options = MakeOptions(
        source=SourceOptions("photo"), size=SizeOptions(width=160), shading=shading
    )
    notes = draft_plate(path, options).notes
    assert any("a lot of work: 25,600 beads" in note for note in notes)


def test_what_would_save_a_board_is_said(tmp_path: Path) -> None:
    options = MakeOptions(source=SourceOptions("photo"), size=SizeOptions(size=(31, 29)),
                          shading=ShadingOptions("none"))  # fmt: skip
    stretched = replace(options, size=SizeOptions(size=(31, 29), fit="stretch"))
    notes = draft_plate(large_photo(tmp_path / "p.png"), stretched).notes
    assert any("2 columns of beads fewer would save a board" in note for note in notes)
