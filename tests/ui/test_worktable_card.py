"""A palette from a photo of beads on the worktable: as the command measures it, names, refusals."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from card_photos import photo
from command import good, run
from PIL import Image
from starlette.testclient import TestClient
from support import SAMPLES, made_once
from worktable import browsing, drop, go

from img2plate.ui.worktable.web import app as page

HERE = {"origin": "http://127.0.0.1:8417"}
MARKUP = "<img src=x onerror=alert(1)>"


@pytest.fixture(scope="session")
def card(tmp_path_factory: pytest.TempPathFactory) -> Path:
    with made_once(tmp_path_factory, "photo") as (folder, is_empty):
        if is_empty:
            made = photo(3, size=(1350, 1800))
            Image.fromarray(made.srgb).save(folder / "card.jpg", quality=92)
    return folder / "card.jpg"


@pytest.fixture(scope="module")
def table(tmp_path_factory: pytest.TempPathFactory) -> Iterator[TestClient]:
    app, _ = page.build(tmp_path_factory.mktemp("p"), port=8417, token="lamp-room", warm=False)
    with TestClient(app, base_url=HERE["origin"], follow_redirects=False) as client:
        client.get("/open/lamp-room")
        yield client


@pytest.fixture(scope="module")
def project(table: TestClient) -> str:
    data = (SAMPLES / "puffin.png").read_bytes()
    answer = table.post("/api/projects", params={"name": "puffin.png"}, content=data, headers=HERE)
    return f"/api/projects/{answer.json()['id']}"


def send(table: TestClient, project: str, name: str, data: bytes) -> Any:
    return table.post(f"{project}/card", params={"name": name}, content=data, headers=HERE)


def save(table: TestClient, project: str, **words: Any) -> Any:
    words["version"] = table.get(project).json()["version"]
    return table.post(f"{project}/card/save", json=words, headers=HERE)


def test_the_palette_is_the_file_that_the_command_writes(
    table: TestClient, project: str, card: Path, tmp_path: Path
) -> None:
    found = send(table, project, "card.jpg", card.read_bytes()).json()
    done = good("palette", "measure", str(card), "--out", str(tmp_path / "my-beads.csv"))
    for bead in found["beads"]:
        line = f"{bead['code']:<6} {bead['hex']}  {bead['name']:<24} spread {bead['spread']}"
        assert line in done.stdout + done.stderr
    assert all(note in done.stdout + done.stderr for note in found["notes"])
    assert any("empty cells: 5, 17" in note for note in found["notes"])
    looked = table.get(f"{project}/card/{found['key']}/looked.png").content
    assert looked == (tmp_path / "my-beads-card-looked.png").read_bytes()
    names = [{key: bead[key] for key in ("cell", "code", "name")} for bead in found["beads"]]
    names[0] |= {"code": "buoy", "name": f"{MARKUP}, wet"}
    old = table.get(project).json()["settings"]
    answer = save(table, project, key=found["key"], title="harbour beads", names=names)
    word = answer.json()["settings"]["palette"]
    csv = tmp_path / "names.csv"
    rows = [f'{name["cell"]},{name["code"]},"{name["name"]}"' for name in names]
    csv.write_text("\n".join(["cell,code,name", *rows]))
    mine = tmp_path / "harbour beads.csv"
    good("palette", "measure", str(card), "--names", str(csv), "--out", str(mine))
    assert table.get(f"{project}/files/{word}").content == mine.read_bytes()
    version = answer.json()["version"]
    undone = table.post(f"{project}/undo", json={"version": version}, headers=HERE).json()
    assert undone["settings"] == old


def test_what_cannot_be_is_refused_in_the_words_of_the_command(
    table: TestClient, project: str, card: Path, tmp_path: Path
) -> None:
    for name in ("puffin.png", "no picture.jpg"):
        file = tmp_path / name
        file.write_bytes((SAMPLES / name).read_bytes() if name == "puffin.png" else b"beads")
        answer = send(table, project, name, file.read_bytes())
        assert answer.status_code == 400
        words = answer.json()["error"]["words"]
        assert words in run("palette", "measure", str(file)).stderr.replace(f"{tmp_path}/", "")
    key = send(table, project, "card.jpg", card.read_bytes()).json()["key"]
    twice = [{"cell": cell, "code": "gull", "name": ""} for cell in (1, 2)]
    answer = save(table, project, key=key, title="", names=twice)
    assert (
        answer.json()["error"]["words"] == "names.csv, row 3, column code: 'gull' is on row 2 too"
    )
    assert save(table, project, key="../..", title="", names=[]).status_code == 404


def test_the_card_is_printed_for_both_sizes(table: TestClient) -> None:
    for address in ("A4/5", "Letter/5", "A4/2.6", "Letter/2.6"):
        assert table.get(f"/card/{address}.pdf").content.startswith(b"%PDF")
    assert table.get("/card/A4/3.pdf").status_code == 404


@pytest.mark.browser
def test_a_photo_becomes_the_palette_in_hand(chromium: Any, address: str, card: Path) -> None:
    with browsing(chromium, address) as page:
        page.context.wrong = wrong = []
        drop(page, SAMPLES / "puffin.png")
        go(page, "beads")
        page.set_input_files("#card-photo", SAMPLES / "puffin.png")
        page.wait_for_selector("#card-wrong:has-text('puffin.png')")
        wrong.clear()  # the browser's own line about an answer of 400
        page.set_input_files("#card-photo", card)
        page.wait_for_selector("#card-said:has-text('33 colours measured')")
        page.get_by_label("Cell 1: name").fill(MARKUP)
        page.get_by_label("The palette’s name").fill("harbour")
        page.click("text=Save the palette")
        page.wait_for_selector("#card-saved a:has-text('harbour.csv')")
        page.wait_for_selector("#colours li:has-text('onerror')")
        assert page.locator("#colours img, #card-beads img").count() == 0
        page.click("#undo")
        page.wait_for_selector("#colours li:has-text('tar black')")
