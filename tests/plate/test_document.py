"""The plate document: exact when ours, matched by colour when touched up, refused when strange."""

from __future__ import annotations

import json
import tempfile
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image
from support import make_palette, make_plate

from img2plate.base.errors import DocumentError, PictureError
from img2plate.colour.palette import Bead, Palette
from img2plate.image.png import Png, read_png
from img2plate.plate.document import holds_other_work, read_plate, write_plate
from img2plate.plate.plate import Plate

PALETTES = st.builds(make_palette, st.integers(1, 300), st.integers(0, 5))


@st.composite
def plates(draw: st.DrawFn) -> Plate:
    """Any plate, also with two codes of one colour and odd letters in names."""
    palette = draw(PALETTES)
    if draw(st.booleans()):
        twin = Bead("twin", draw(st.text(min_size=1, max_size=8)), palette.beads[0].srgb, "pearl")
        palette = replace(palette, beads=(*palette.beads, twin))
    width, height = draw(st.integers(1, 30)), draw(st.integers(1, 30))
    top = min(len(palette), 255)
    rng = np.random.default_rng(draw(st.integers(0, 1000)))
    cells = rng.integers(-1, top, (height, width)).astype(np.int16)
    cells[0, 0] = len(palette) - 1
    if len(set(cells[cells >= 0].tolist())) > 255:
        cells[cells > 200] = 0
        cells[0, 0] = len(palette) - 1
    return Plate(cells, palette, draw(st.text(max_size=10)), {"seed": 3, "shading": "none"})


def upside_down(plate: Plate) -> Plate:
    """Another plate."""
    return replace(plate, cells=plate.cells[::-1])


@settings(deadline=None, max_examples=60)
@given(plates())
def test_any_plate_comes_back_identical(plate: Plate) -> None:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "plate.png"
        write_plate(path, plate)
        again = read_plate(path)
        assert not holds_other_work(path, upside_down(plate))
    np.testing.assert_array_equal(again.cells, plate.cells)
    assert (again.palette, again.name) == (plate.palette, plate.name)
    assert dict(again.made) == dict(plate.made)


def test_any_viewer_shows_it(tmp_path: Path) -> None:
    """Decoded by Pillow as any indexed PNG: palette colours, see-through where empty."""
    plate = make_plate(20, 10)
    write_plate(tmp_path / "p.png", plate)
    with Image.open(tmp_path / "p.png") as image:
        assert image.mode == "P"
        rgba = np.asarray(image.convert("RGBA"))
    np.testing.assert_array_equal(rgba[..., 3] > 0, plate.filled)
    np.testing.assert_array_equal(
        rgba[plate.filled, :3], plate.palette.srgb[plate.cells[plate.filled]]
    )


def test_same_plate_same_bytes(tmp_path: Path) -> None:
    write_plate(tmp_path / "a.png", make_plate(20, 10))
    write_plate(tmp_path / "b.png", make_plate(20, 10))
    assert (tmp_path / "a.png").read_bytes() == (tmp_path / "b.png").read_bytes()


@pytest.mark.parametrize("mode", ["RGBA", "P-other-order"])
def test_an_editor_that_drops_index_and_note(tmp_path: Path, mode: str) -> None:
    plate = make_plate(20, 10)
    write_plate(tmp_path / "p.png", plate)
    with Image.open(tmp_path / "p.png") as image:
        bare = image.convert("RGBA")
    if mode != "RGBA":
        bare = bare.quantize(64, method=Image.Quantize.FASTOCTREE)
    bare.info.clear()
    bare.save(tmp_path / "bare.png")
    np.testing.assert_array_equal(
        read_plate(tmp_path / "bare.png", plate.palette).cells, plate.cells
    )
    with pytest.raises(DocumentError, match="`palette`"):
        read_plate(tmp_path / "bare.png")
    assert holds_other_work(tmp_path / "bare.png", upside_down(plate))
    assert not holds_other_work(tmp_path / "bare.png", plate)  # nothing would be lost


def test_a_cell_painted_in_another_palette_colour_is_taken(tmp_path: Path) -> None:
    plate = make_plate(20, 10)
    write_plate(tmp_path / "p.png", plate)
    with Image.open(tmp_path / "p.png") as image:
        notes = image.text  # type: ignore[attr-defined]
        rgba = image.convert("RGBA")
    rgba.putpixel((4, 3), (*plate.palette.beads[7].srgb, 255))
    from PIL.PngImagePlugin import PngInfo

    info = PngInfo()
    for key, text in notes.items():
        info.add_itxt(key, text)
    rgba.save(tmp_path / "t.png", pnginfo=info)
    touched = read_plate(tmp_path / "t.png")
    assert touched.cells[3, 4] == 7
    assert holds_other_work(tmp_path / "t.png", plate)
    assert not holds_other_work(tmp_path / "t.png", touched)
    assert not holds_other_work(tmp_path / "none.png", plate)
    (tmp_path / "words.png").write_text("not a plate")
    assert holds_other_work(tmp_path / "words.png", plate)


def test_a_strange_colour_is_refused_with_cell_and_colour(tmp_path: Path) -> None:
    palette = Palette("two", (Bead("a", "a", (10, 20, 30)), Bead("b", "b", (200, 0, 0))))
    pixels = np.zeros((6, 5, 4), np.uint8)
    pixels[..., 3] = 255
    pixels[..., :3] = (10, 20, 30)
    pixels[4, 2] = (10, 20, 31, 255)
    Image.fromarray(pixels).save(tmp_path / "p.png")
    with pytest.raises(DocumentError, match=r"column 3, row 5 is #0A141F.*palette two"):
        read_plate(tmp_path / "p.png", palette)
    pixels[4, 2] = (10, 20, 30, 99)
    Image.fromarray(pixels).save(tmp_path / "p.png")
    with pytest.raises(DocumentError, match="opacity 99/255"):
        read_plate(tmp_path / "p.png", palette)


def test_wrong_documents(tmp_path: Path) -> None:
    palette = make_palette(4)
    with pytest.raises(PictureError, match="no file"):
        read_plate(tmp_path / "none.png")
    with pytest.raises(PictureError, match="folder"):
        read_plate(tmp_path)
    (tmp_path / "text.png").write_text("hello")
    with pytest.raises(PictureError, match="not a readable PNG"):
        read_plate(tmp_path / "text.png")
    Image.new("RGBA", (3, 3)).save(tmp_path / "clear.png")
    with pytest.raises(DocumentError, match="no bead"):
        read_plate(tmp_path / "clear.png", palette)
    Image.new("RGB", (3000, 3000)).save(tmp_path / "large.png")
    with pytest.raises(PictureError, match="3000 x 3000"):
        read_plate(tmp_path / "large.png", palette)


@pytest.mark.parametrize(
    "note",
    ["{", "[]", json.dumps({"version": 1}), json.dumps({"version": 99})],
)
def test_damaged_notes(tmp_path: Path, note: str) -> None:
    from PIL.PngImagePlugin import PngInfo

    info = PngInfo()
    info.add_itxt("img2plate", note)
    Image.new("RGB", (3, 3)).save(tmp_path / "p.png", pnginfo=info)
    with pytest.raises(DocumentError, match=r"damaged|newer version"):
        read_plate(tmp_path / "p.png")


def test_too_many_colours_for_a_document(tmp_path: Path) -> None:
    palette = make_palette(300)
    cells = np.arange(300, dtype=np.int16).reshape(10, 30)
    with pytest.raises(DocumentError, match="300 colours"):
        write_plate(tmp_path / "p.png", Plate(cells, palette))


def test_a_kept_plate_is_decoded_once(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    plate, decoded = make_plate(20, 10), []
    write_plate(tmp_path / "p.png", plate)

    def read_and_note(path: Path) -> Png:
        decoded.append(path)
        return read_png(path)

    monkeypatch.setattr("img2plate.plate.document.read_png", read_and_note)
    touched = Plate(plate.cells, make_palette(9, 3), "other")
    assert not holds_other_work(tmp_path / "p.png", touched)
    assert len(decoded) == 1
