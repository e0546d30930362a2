"""The proof sheet: figures are those of `make`, one failure loses nothing, the page works."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image
from support import SAMPLES

from img2plate.base.errors import OptionError, PaletteError
from img2plate.pipeline.compare import CompareOptions, Comparison
from img2plate.pipeline.compare import run as compare
from img2plate.pipeline.draft import draft_plate
from img2plate.pipeline.options import MakeOptions, PackOptions, SizeOptions
from img2plate.plate.document import read_plate
from img2plate.plate.shade.shading import ShadingOptions
from img2plate.typeset.look import contrast

PHOTO = SAMPLES / "harbour.jpg"


@pytest.fixture(scope="module")
def done(tmp_path_factory: pytest.TempPathFactory) -> Comparison:
    out = tmp_path_factory.mktemp("proof")
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


def test_the_picture_and_the_pages(done: Comparison) -> None:
    import pypdfium2

    png, pdf, _ = done.files
    with Image.open(png) as image:
        assert image.width > 1800
        assert len(np.unique(np.asarray(image.convert("RGB")).reshape(-1, 3), axis=0)) > 500
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
    with pytest.raises(OptionError, match="write_pack`: 3"):
        compare(PHOTO, CompareOptions(("quay-24",), make=make, write_pack=3))
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
