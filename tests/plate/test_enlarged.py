"""A plate document that was saved enlarged is reduced or refused: beads are never multiplied."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from support import make_palette, make_plate

from img2plate.base.errors import DocumentError
from img2plate.pipeline import count
from img2plate.plate.document import read_plate, write_plate
from img2plate.plate.plate import Plate


def enlarged(path: Path, times: int, *, note: bool) -> Path:
    """Resize a document as an editor does, with or without the note inside it."""
    with Image.open(path) as image:
        large = image.resize((image.width * times, image.height * times), Image.Resampling.NEAREST)
        saved = path.with_name(f"large-{times}-{note}.png")
        if note:
            from PIL.PngImagePlugin import PngInfo

            info = PngInfo()
            for key, text in image.text.items():
                info.add_itxt(key, text)
            large.save(saved, pnginfo=info)
        else:
            large.convert("RGBA").save(saved)
    return saved


@pytest.mark.parametrize("times", [2, 3, 10])
def test_with_its_note_it_is_reduced(times: int, tmp_path: Path) -> None:
    plate = make_plate(24, 17)
    write_plate(tmp_path / "plate.png", plate)
    found = read_plate(enlarged(tmp_path / "plate.png", times, note=True))
    np.testing.assert_array_equal(found.cells, plate.cells)


def test_also_when_it_was_touched_up_before(tmp_path: Path) -> None:
    plate = make_plate(24, 17)
    write_plate(tmp_path / "plate.png", plate)
    with Image.open(tmp_path / "plate.png") as image:
        image.putpixel((5, 5), (image.getpixel((5, 5)) + 1) % 12)
        texts = dict(image.text)
        from PIL.PngImagePlugin import PngInfo

        info = PngInfo()
        for key, text in texts.items():
            info.add_itxt(key, text)
        image.save(tmp_path / "plate.png", pnginfo=info)
    found = read_plate(enlarged(tmp_path / "plate.png", 5, note=True))
    assert found.cells.shape == (17, 24)
    assert (found.cells != plate.cells).sum() == 1


def test_without_its_note_it_is_refused(tmp_path: Path) -> None:
    plate = make_plate(48, 30)
    write_plate(tmp_path / "plate.png", plate)
    large = enlarged(tmp_path / "plate.png", 10, note=False)
    with pytest.raises(DocumentError, match=r"10 x 10 pixels.*48 x 30 pixels"):
        read_plate(large, plate.palette)


def test_count_never_multiplies_beads(tmp_path: Path) -> None:
    plate = make_plate(48, 30)
    write_plate(tmp_path / "plate.png", plate)
    counts = count.run([enlarged(tmp_path / "plate.png", 10, note=True)])
    assert counts.beads == plate.bead_count


def test_a_plate_of_doubled_cells_stays_what_it_is(tmp_path: Path) -> None:
    """As `width` twice the sprite's makes it, untouched and touched."""
    plate = make_plate(12, 9)
    doubled = replace(plate, cells=plate.cells.repeat(2, axis=0).repeat(2, axis=1))
    write_plate(tmp_path / "plate.png", doubled)
    np.testing.assert_array_equal(read_plate(tmp_path / "plate.png").cells, doubled.cells)
    without = enlarged(tmp_path / "plate.png", 1, note=False)
    np.testing.assert_array_equal(read_plate(without, plate.palette).cells, doubled.cells)


def test_a_plain_plate_is_no_enlargement(tmp_path: Path) -> None:
    palette = make_palette(4)
    plain = Plate(np.zeros((30, 30), np.int16), palette)
    write_plate(tmp_path / "plate.png", plain)
    without = enlarged(tmp_path / "plate.png", 1, note=False)
    assert read_plate(without, palette).bead_count == 900
