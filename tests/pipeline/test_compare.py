"""The proof sheet: figures are those of `make`, one failure loses nothing, the page works."""

from __future__ import annotations

import pickle
import re
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import skimage.data
from PIL import Image
from support import SAMPLES, made_once, make_plate

from img2plate.base.errors import OptionError, PaletteError
from img2plate.colour.look_error import Looks
from img2plate.colour.palette_file import find_palette
from img2plate.colour.spaces import bytes2linear
from img2plate.image.grid import Grid
from img2plate.image.kind.kind import Kind
from img2plate.image.sizing import CropBox
from img2plate.image.source_options import SourceOptions
from img2plate.pipeline.compare import CompareOptions, Comparison
from img2plate.pipeline.compare import run as compare
from img2plate.pipeline.draft import draft_plate
from img2plate.pipeline.options import MakeOptions, PackOptions, SizeOptions
from img2plate.pipeline.proposals import propose
from img2plate.plate.document import read_plate
from img2plate.plate.limits.choice import ChoiceOptions
from img2plate.plate.shade.shading import ShadingOptions
from img2plate.tally.effort import colour_changes
from img2plate.typeset.look import contrast
from img2plate.typeset.proof.proof import Proof, Variant

PHOTO = SAMPLES / "harbour.jpg"
QUAY = find_palette("quay-24")


@pytest.fixture(scope="session")
def done(tmp_path_factory: pytest.TempPathFactory) -> Comparison:
    with made_once(tmp_path_factory, "proof") as (out, is_empty):
        if is_empty:
            (out / "done.pickle").write_bytes(pickle.dumps(compared(out)))
        return pickle.loads((out / "done.pickle").read_bytes())


def compared(out: Path) -> Comparison:
    """Four plates that are made and two that cannot be."""
    (out / "stock.csv").write_text("code,count\nnothing-of-this,5\n")
    make = MakeOptions(
        size=SizeOptions(size=(40, 40)), pack=PackOptions(out=out), stock=out / "stock.csv"
    )
    rows = ("quay-24", "none.csv", "css-named"), ("none", "bayer"), (6,)
    return compare(PHOTO, CompareOptions(*rows, make=make, write_pack=6))


def test_every_combination_has_the_figures_of_its_own_run(done: Comparison) -> None:
    report = done.as_json()
    assert [(v["number"], v["palette"], v["shading"]) for v in report["variants"]] == [
        (1, "quay-24", "none"),
        (2, "quay-24", "bayer"),
        (5, "css-named", "none"),
        (6, "css-named", "bayer"),
    ]
    alone = MakeOptions(palette="css-named", size=SizeOptions(size=(40, 40)))
    alone = replace(alone, shading=ShadingOptions("bayer"))
    draft = draft_plate(PHOTO, replace(alone, choice=replace(alone.choice, colours=6)))
    last = report["variants"][3]
    assert last["error"] == pytest.approx(draft.looks().error, abs=1e-3)
    assert last["beads"] == draft.plate.bead_count == last["missing"]
    assert last["colours"] <= 6
    kept = read_plate(Path(report["pack"]) / "plate.png")
    np.testing.assert_array_equal(kept.cells, draft.plate.cells)


def test_one_that_fails_is_told_and_loses_nothing(done: Comparison) -> None:
    report = done.as_json()
    assert [each["variant"][:2] for each in report["failed"]] == ["3:", "4:"]
    assert all("none.csv" in each["why"] for each in report["failed"])
    page = done.files[2].read_text("utf-8")
    assert "no palette 'none.csv'" in page


def test_best_is_marked_where_variants_differ(done: Comparison) -> None:
    report = done.as_json()
    errors = {v["number"]: v["error"] for v in report["variants"]}
    assert report["best"]["error"] == [min(errors, key=errors.__getitem__)]
    assert report["best"]["beads"] == []


def variant(number: int, error: float, metres: float, beads: int = 100) -> Variant:
    plate = make_plate(4, 4)
    looks, none = Looks(error, 0.8 - error / 100, 0.1, metres), np.zeros((1, 1, 3), np.uint8)
    return Variant(
        number, "quay-24", "search", "calm", plate, none, (none, none), looks, 5, beads, 9, 1
    )


def test_best_is_among_those_judged_from_one_distance_and_never_tied_as_printed() -> None:
    made = (
        variant(1, 10.04, 0.8), variant(2, 10.01, 0.8), variant(3, 12.0, 0.8),
        variant(4, 9.0, 1.1, 90), variant(5, 8.0, 1.1, 90), variant(6, 1.0, 2.0),
    )  # fmt: skip
    best = Proof("p", made[0], made).best()
    assert best["error"] == [5]  # 1 and 2 both print 10.0; 6 stands alone
    assert best["beads"] == []
    assert Proof("p", made[0], (*made[1:4],)).best()["error"] == [2]
    assert Proof("p", made[0], (made[3], made[0])).best()["beads"] == [4]


def test_each_variant_is_named_with_its_size(done: Comparison) -> None:
    import pypdfium2

    assert {each.size for each in done.proof.variants} == {"40 x 30 beads"}
    document = pypdfium2.PdfDocument(done.files[1])
    assert document[0].get_textpage().get_text_range().count("40 x 30 beads") == 4
    document.close()
    assert done.files[2].read_text("utf-8").count('"size":"40 x 30 beads"') == 4


def proposed(grid: Grid, **options: Any) -> list[tuple[str, str, str, int | None]]:
    """Palette, shading, look and colours of what is proposed."""
    found, notes = propose(CompareOptions(**options), grid)
    assert bool(notes) != CompareOptions(**options).says_what
    return [
        (each.palette, each.shading.shading, each.shading.look, each.choice.colours)
        for each in found.variants()
    ]


def grid_of(kind: Kind, srgb: np.ndarray) -> Grid:
    """Cells of given colours (n, 3), a row of four each."""
    linear = bytes2linear(srgb.astype(np.uint8))[:, None].repeat(4, axis=1)
    return Grid(linear.astype(np.float32), np.ones(linear.shape[:2], np.float32), kind=kind)


GREYS = np.linspace(20, 240, 5)[:, None].repeat(3, axis=1)
SEA = find_palette("sea-96").srgb


def test_a_photo_is_proposed_in_three_looks_and_two_palettes_that_differ() -> None:
    found = proposed(grid_of(Kind.PHOTO, SEA))
    assert [each[0] for each in found] == ["harbour-48"] * 3 + ["sea-96"] * 3
    assert [each[2] for each in found] == ["calm", "balanced", "true"] * 2


def test_where_more_colours_bring_nothing_the_second_palette_has_few() -> None:
    few = find_palette("quay-24").srgb
    assert {each[0] for each in proposed(grid_of(Kind.PHOTO, few))} == {"harbour-48", "quay-24"}


def test_what_is_named_once_is_kept_and_what_is_given_twice_is_all() -> None:
    photo = grid_of(Kind.PHOTO, SEA)
    assert [each[0] for each in proposed(photo, palettes=("quay-24",))] == ["quay-24"] * 3
    assert [each[2] for each in proposed(photo, looks=("true",))] == ["true"] * 2
    assert {each[1] for each in proposed(photo, shadings=("bayer",))} == {"bayer"}
    assert len(proposed(photo, shadings=("bayer",))) == 2
    assert len(proposed(photo, widths=(20, 30))) == 2
    named = proposed(photo, shadings=("bayer", "search"), looks=("calm", "true"))
    assert [each[1:3] for each in named] == [
        ("bayer", "calm"), ("search", "calm"), ("search", "true"),
    ]  # fmt: skip


def test_sprites_and_drawings_are_proposed_flat_and_only_with_many_colours_in_more_ways() -> None:
    for kind in (Kind.OWN_SIZE, Kind.ENLARGED, Kind.DRAWING):
        assert len(proposed(grid_of(kind, GREYS))) == 2
    many = grid_of(Kind.OWN_SIZE, SEA[:40])
    colours = [each[3] for each in proposed(many)]
    assert colours[::2] == [None, None]
    assert colours[1] == colours[3]
    assert 8 <= 2 * colours[1] <= 40
    drawn = proposed(grid_of(Kind.DRAWING, SEA[:40]))
    assert [each[1:3] for each in drawn] == [("none", "calm"), ("search", "calm")] * 2


def test_only_palettes_with_the_codes_that_were_asked_for_are_proposed() -> None:
    code = next(b.code for b in find_palette("sea-96").beads if b.code not in QUAY.by_code)
    make = MakeOptions(palette="sea-96", choice=ChoiceOptions(only=(code, "gul")))
    found = proposed(grid_of(Kind.PHOTO, SEA), make=make)
    assert "quay-24" not in {each[0] for each in found}


def test_the_proposed_sheet_and_the_subject_are_written(tmp_path: Path) -> None:
    cup = skimage.data.coffee()[::4, ::4]
    Image.fromarray(cup).save(tmp_path / "cup.png")
    make = MakeOptions(
        source=SourceOptions("photo", background="clear", subject=CropBox(40, 20, 75, 65)),
        size=SizeOptions(width=20),
        pack=PackOptions(out=tmp_path),
    )
    done = compare(tmp_path / "cup.png", CompareOptions(make=make, shadings=("none",)))
    assert (tmp_path / "cup-subject.png").is_file()
    assert "proposed for a photo: 2 plates" in done.notes[0]
    assert len(done.proof.variants) == 2
    assert done.proof.variants[0].changes == colour_changes(done.proof.variants[0].plate.cells)


def test_the_picture_and_the_pages(done: Comparison) -> None:
    import pypdfium2

    png, pdf, _ = done.files
    with Image.open(png) as image:
        assert image.width > 1800
        assert len(image.convert("RGB").getcolors(1 << 24)) > 500
    document = pypdfium2.PdfDocument(pdf)
    words = document[0].get_textpage().get_text_range()
    assert words.count("Look error") == 4
    assert "css-named" in words
    assert "Could not be made" in words
    document.close()


def test_nothing_is_written_when_all_fail_or_options_make_no_sense(tmp_path: Path) -> None:
    make = MakeOptions(pack=PackOptions(out=tmp_path / "o"))
    with pytest.raises(PaletteError):
        compare(PHOTO, CompareOptions(("no-1", "no-2"), make=make))
    with pytest.raises(OptionError, match="write_pack`: 4"):
        compare(PHOTO, CompareOptions(("quay-24",), make=make, write_pack=4))
    with pytest.raises(OptionError, match="100 variants"):
        compare(PHOTO, CompareOptions(("a",) * 10, ("none",) * 10, make=make))
    assert not (tmp_path / "o").exists()


def test_the_page_asks_for_nothing_and_can_be_read(done: Comparison) -> None:
    page = done.files[2].read_text("utf-8")
    assert "default-src 'none'" in page
    assert not re.search(r"https?://(?!www\.w3\.org)", page)
    themes = [
        dict(re.findall(r"--(\w+):\s*(#[0-9a-fA-F]{6})", block))
        for block in re.findall(r":root\s*\{([^}]*)\}", page)
    ]
    assert len(themes) == 2  # by day and in the dark
    for theme in themes:
        for text in ("ink", "quiet", "accent"):
            assert contrast(theme[text], theme["paper"]) > 4.5, text
    assert themes[0]["paper"] != themes[1]["paper"]


@pytest.mark.browser
def test_sort_filter_slide_and_look_from_afar(phone: Any, done: Comparison) -> None:
    phone.goto(done.files[2].as_uri())
    heads = phone.locator("article h2 b")
    assert heads.all_inner_texts() == ["1", "2", "5", "6"]
    phone.select_option("#sort", "error")
    ranked = sorted(done.proof.variants, key=lambda v: v.looks.error)
    assert heads.all_inner_texts() == [str(v.number) for v in ranked]
    phone.select_option("#palette", "css-named")
    assert sorted(heads.all_inner_texts()) == ["5", "6"]
    for box in phone.locator(".tick input").all():
        box.check()
    assert phone.is_visible("#two")
    phone.fill("#slider", "25")
    assert "75%" in phone.get_attribute("#over", "style")
    near = phone.get_attribute("#over", "src")
    phone.click("#far")
    assert phone.get_attribute("#over", "src") != near
    assert phone.evaluate("document.documentElement.scrollWidth") == 390
