"""Plates of a figure's pack, touched up and laid on again; whose they are."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import numpy as np
import pytest
from command import good, one_line
from command import run as run_command
from figures_for_tests import shed_text
from PIL import Image
from reader import page_words

from img2plate.base.errors import DocumentError
from img2plate.pipeline.figure_plates import lay_on
from img2plate.plate.document import read_plate, write_plate
from img2plate.solid.box.build import build
from img2plate.solid.file.figure_file import read_figure

TEXT = shed_text('name = "net shed"\ntitle = "Shed"\nauthor = "Ole"\nlicence = "mit"\n')
FRONT = "01-shed-front"


@pytest.fixture(scope="module")
def home(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A figure, and its pack beside it."""
    home = tmp_path_factory.mktemp("shed")
    (home / "shed.toml").write_text(TEXT, encoding="utf-8")
    good("figure", home / "shed.toml", "--out", home, "--paper", "Letter")
    return home


def paint(path: Path, *cells: tuple[int, int], colour: tuple[int, ...] = (0, 0, 0, 0)) -> None:
    """As a pixel editor does that keeps neither the index nor the note."""
    with Image.open(path) as image:
        pixels = image.convert("RGBA")
    for column, row in cells:
        pixels.putpixel((column - 1, row - 1), colour)
    pixels.save(path)


def test_touched_in_the_pack_itself_and_never_lost(home: Path, tmp_path: Path) -> None:
    own = shutil.copytree(home, tmp_path / "own")
    plates = own / "shed" / "plates"
    white = next(
        b.srgb for b in read_plate(plates / f"{FRONT}.png").palette.beads if b.code == "gul"
    )
    paint(plates / f"{FRONT}.png", (4, 4), (5, 4))
    paint(plates / f"{FRONT}.png", (3, 6), (4, 6), colour=(*white, 255))
    (plates / "why.txt").write_text("a porthole")
    done = good("figure", own / "shed.toml", "--out", own, "--plates", plates, "--json",
                "--spare", "7", "--author", "Maja")  # fmt: skip
    after = json.loads(done.stdout)
    assert after["beads"] == sum(read_plate(path).bead_count for path in plates.glob("*.png"))
    assert {c["code"]: c["beads"] for c in after["colours"]}["gul"] == 2
    assert "touched up: plate 1" in done.stderr
    assert "why.txt is no plate" in done.stderr
    assert (plates / "why.txt").is_file()
    assert sorted(path.name for path in own.glob("shed/plates*")) == ["plates"]
    # One plate alone knows whose it is and how it was laid out.
    good("publish", plates / f"{FRONT}.png", "--out", tmp_path / "site")
    words = (tmp_path / "site" / "shed-front" / "index.html").read_text(encoding="utf-8")
    assert "Shed: shed front" in words
    assert "by <bdi>Maja</bdi>" in words
    assert read_plate(tmp_path / "site" / "shed-front" / "plate.png").laid["spare_percent"] == 7
    # Made again as described, the touched plate is kept.
    front = read_plate(plates / f"{FRONT}.png").cells
    told = good("figure", own / "shed.toml", "--out", own).stderr
    assert "kept in plates-touched-1" in told
    assert np.array_equal(
        read_plate(own / "shed" / "plates-touched-1" / f"{FRONT}.png").cells, front
    )
    assert read_plate(plates / f"{FRONT}.png").bead_count == np.count_nonzero(front >= 0) + 2


def test_a_pack_of_another_command_is_laid_on(home: Path, tmp_path: Path) -> None:
    good("letters", "I", "--height", "5", "--on", home / "shed" / "plates" / f"{FRONT}.png",
         "--name", FRONT, "--out", tmp_path / "touched")  # fmt: skip
    plain = build(read_figure(home / "shed.toml"))
    done, notes = lay_on(plain, tmp_path / "touched")
    assert notes == ("touched up: plate 1",)
    assert np.array_equal(
        done.pieces[0].plate.cells, read_plate(tmp_path / "touched" / FRONT / "plate.png").cells
    )


def test_the_description_changed_since(home: Path, tmp_path: Path) -> None:
    """Plates that nobody touched are as described now; one copied over another is laid on."""
    plates, description = tmp_path / "plates", tmp_path / "shed.toml"
    shutil.copytree(home / "shed" / "plates", plates)
    back = read_plate(plates / "02-shed-back.png")
    back.cells[3, 3] = -1
    write_plate(plates / "02-shed-back.png", back)
    description.write_text(TEXT.replace('= "prt"\n', '= "gul"\n'), encoding="utf-8")
    plain = build(read_figure(description))
    done, notes = lay_on(plain, plates)
    older = "plate 2 was touched up before its description changed, and is laid on so"
    assert notes == ("touched up: plate 2", older)
    assert [p.plate is q.plate for p, q in zip(done.pieces, plain.pieces, strict=True)] == [
        True, False, True, True, True, True,
    ]  # fmt: skip
    shutil.copy(plates / "03-shed-left.png", plates / "04-shed-right.png")
    done, notes = lay_on(plain, plates)
    assert notes[0] == "touched up: plates 2, 4"
    # Other plates than before: what nobody touched is passed over, the rest is named.
    description.write_text(f'{TEXT}lid = "lift"\n', encoding="utf-8")
    lidded = build(read_figure(description))
    (plates / "02-shed-back.png").rename(plates / "06-shed-top.png")
    with pytest.raises(DocumentError, match=r"06-shed-top\.png is called as no plate of net shed"):
        lay_on(lidded, plates)


def test_what_is_refused(home: Path, tmp_path: Path) -> None:
    touched, description = tmp_path / "touched", home / "shed.toml"

    def refused(code: int, *words: str, more: tuple[object, ...] = ()) -> None:
        done = run_command("figure", description, "--out", tmp_path, "--plates", touched, *more)
        one_line(done, code, *words)
        assert not (tmp_path / "shed").exists()

    refused(2, "is no folder")
    touched.mkdir()
    refused(2, "holds no plate")
    plate = touched / f"{FRONT}.png"
    shutil.copy(home / "shed" / "plates" / plate.name, plate)
    refused(2, "colourway", more=("--colourway", "all"))
    paint(plate, (1, 4), (4, 4))
    refused(9, "plate 1, shed front, column 1, row 4: without this bead", "at joint")
    paint(plate, (4, 4), colour=(1, 2, 3, 255))
    refused(5, "column 4, row 4 is #010203")
    document = read_plate(home / "shed" / "plates" / plate.name)
    write_plate(plate, type(document)(document.cells[:, :-1], document.palette))
    refused(5, "is 7 x 8 beads, plate 1, shed front, is 8 x 8")
    plate.rename(touched / "01-shed-frnt.png")
    refused(5, "01-shed-frnt.png is called as no plate of net shed", FRONT)
    for name in (f"{FRONT}.png", "01-Shed-front.PNG"):
        shutil.copy(home / "shed" / "plates" / f"{FRONT}.png", touched / name)
    (touched / "01-shed-frnt.png").unlink()
    refused(5, "are the same plate")


def test_whose_it_is_stands_on_all_of_it(home: Path) -> None:
    pack = home / "shed"
    assert read_plate(pack / "plates" / f"{FRONT}.png").credit.words == (
        "Shed: shed front", "Ole", "MIT")  # fmt: skip
    assert b'"copyright":"Ole, MIT"' in (pack / "figure.glb").read_bytes()
    pages = page_words(pack / "sheets.pdf")
    assert all("Ole, MIT, palette" in page for page in pages)
    dusk = read_figure(home / "shed.toml", colourway="dusk")
    assert dusk.credit.words == ("Shed, dusk", "Ole", "MIT")


@pytest.mark.parametrize(("key", "words"), [("licence", "licence"), ("author", "letters")])
def test_whose_it_is_makes_sense(tmp_path: Path, key: str, words: str) -> None:
    text = TEXT.replace('licence = "mit"', 'licence = ""').replace('author = "Ole"', 'author = ""')
    text = text.replace(f'{key} = ""', f'{key} = "{"of nobody" * 30}"')
    (tmp_path / "shed.toml").write_text(text, encoding="utf-8")
    done = run_command("figure", tmp_path / "shed.toml", "--out", tmp_path)
    one_line(done, 9, f"key {key}", words)
