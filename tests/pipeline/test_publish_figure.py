"""A figure's published page, from its pack alone."""

from __future__ import annotations

import json
import re
import shutil
import zipfile
from pathlib import Path

import numpy as np
import pytest
from command import good, one_line
from command import run as run_command
from figures_for_tests import shed_text

from img2plate.base.credit import Credit
from img2plate.base.errors import FigureError
from img2plate.pipeline import publish
from img2plate.pipeline.described import FOLDER, RUN
from img2plate.pipeline.publish import PublishOptions
from img2plate.plate.document import read_plate, write_plate
from img2plate.plate.plate import Plate

FIGURE = 'name = "Net <shed>"\npalette = "{palette}"\ncautions = ["coins"]\n'
TEXT = shed_text(FIGURE, 'lid = "slide"\n')


@pytest.fixture(scope="module")
def pack(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A figure's pack, whose description and palette file are gone since."""
    folder = tmp_path_factory.mktemp("figure")
    palette = Path(__file__).parents[2] / "palettes" / "harbour-48.csv"
    shutil.copy(palette, folder / "own.csv")
    description = folder / "shed.toml"
    description.write_text(TEXT.format(palette="own.csv"), encoding="utf-8")
    good("figure", description, "--colourway", "dusk", "--out", folder, "--paper", "Letter",
         "--spare", "20", "--author", "Ole", "--licence", "MIT")  # fmt: skip
    description.unlink()
    (folder / "own.csv").unlink()
    return folder / "shed-dusk"


def test_the_page_of_a_figure_and_its_files(pack: Path, tmp_path: Path) -> None:
    done = publish.run([pack], PublishOptions(out=tmp_path / "site"))
    (pattern,) = done.patterns
    home = tmp_path / "site" / pattern.slug
    page = (home / "index.html").read_text(encoding="utf-8")
    plates = [read_plate(path) for path in sorted((pack / "plates").glob("*.png"))]
    beads = sum(plate.bead_count for plate in plates)
    assert f"<dd>{beads:,}</dd>" in page
    assert "Net &lt;shed&gt;" in page
    assert "<shed>" not in page
    assert "With 20 % spare" in page
    assert "Coins are small parts" in page
    assert "4 x 4 x 4 cm" in page
    assert len(re.findall(r'<tr><td class="number">', page)) == len(plates)
    assert pattern.level.values["plates"] == len(plates)
    # The pack is drawn anew, the same byte for byte, and lies in the zip.
    for name in ("sheets.pdf", "follow.html", "figure.glb", "counts.csv", "assembled.png"):
        assert (home / name).read_bytes() == (pack / name).read_bytes(), name
    with zipfile.ZipFile(home / f"{pattern.slug}.zip") as archive:
        assert sum("/plates/" in name for name in archive.namelist()) == len(plates)
    found = re.search(r'<script type="application/ld\+json">(.*?)</script>', page, re.S)
    assert found
    how_to = json.loads(found[1])
    assert how_to["image"] == "assembled.png"
    assert how_to["step"][-1]["name"] == "Put it together"
    for file in re.findall(r'(?:src|href)="([^"#:]+)"', page):
        assert (home / file).exists(), file


def test_a_touched_plate_is_shown_and_told(pack: Path, tmp_path: Path) -> None:
    copy = shutil.copytree(pack, tmp_path / "pack")
    path = next((copy / "plates").glob("*.png"))
    plate = read_plate(path)
    cells = np.where(plate.cells >= 0, (plate.cells + 1) % len(plate.palette), plate.cells)
    write_plate(path, Plate(cells.astype(np.int16), plate.palette, plate.name))
    asked = PublishOptions(Credit(author="Maja"), out=tmp_path / "site")
    done = publish.run([copy], asked)
    assert any(str(path) in note and "touched up" in note for note in done.notes)
    assert any("`author` Maja, in place of Ole" in note for note in done.notes)
    shown = read_plate(tmp_path / "site" / done.patterns[0].slug / "plates" / path.name)
    assert np.array_equal(shown.cells, cells)
    assert shown.credit.words == ("", "Maja", "MIT")
    cells[:, 0] = -1
    write_plate(path, Plate(cells.astype(np.int16), plate.palette, plate.name))
    with pytest.raises(FigureError, match="column 1, row"):
        publish.run([copy], asked)


@pytest.mark.parametrize(
    "damage",
    [
        {"description": "../secret.toml"},
        {"description": "/etc/passwd"},
        {"laid": {"paper": "B7"}},
        {"laid": {"spare_percent": "many"}},
        {"laid": 7},
        None,
    ],
)
def test_a_damaged_pack_is_refused_in_a_line(
    pack: Path, tmp_path: Path, damage: dict[str, object] | None
) -> None:
    copy = shutil.copytree(pack, tmp_path / "pack")
    run = copy / FOLDER / RUN
    told = json.loads(run.read_text(encoding="utf-8"))
    run.write_text("{" if damage is None else json.dumps({**told, **damage}), encoding="utf-8")
    done = run_command("publish", copy, "--out", tmp_path / "site")
    one_line(done, done.returncode)
    assert done.returncode in (2, 5)
    assert not (tmp_path / "site").exists()
