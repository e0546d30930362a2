"""The worktable's boards and sheets without a browser: what makes a plate, what only its pack."""

from __future__ import annotations

import base64
import hashlib
import io
import os
import re
import time
import zipfile
from collections.abc import Iterator
from dataclasses import fields
from pathlib import Path
from typing import Any
from urllib.parse import quote

import numpy as np
import pytest
from command import good
from PIL import Image
from reader import page_words, render
from starlette.testclient import TestClient
from support import SAMPLES

from img2plate.base.credit import Credit
from img2plate.pipeline.draft import draft_plate
from img2plate.pipeline.options import PackOptions
from img2plate.ui.worktable.store.projects import MOST_PACKS, Projects
from img2plate.ui.worktable.web import app as page
from img2plate.ui.worktable.wishes.of_the_pack import OF_THE_PACK, plate_key, with_pack_of
from img2plate.ui.worktable.wishes.settings import command_words, key_of, read_settings, tidied

HOST = "127.0.0.1:8418"
HERE = {"origin": f"http://{HOST}"}
PUFFIN = SAMPLES / "puffin.png"
OTHER = {
    "template": True,
    "paper": "Letter", "thickness_mm": "3", "spare_percent": "10", "pace": "300",
    "seams": "9,20/15", "smallest_tile": "5", "boards_owned": "2", "rounds": "A1,B1/C1,A2/B2,C2",
    "front": "board-side",
    "printer_measured": "99.5", "margin_mm": "9", "runs": True, "bag": "500", "bag_price": "2",
    "title": "Puffin", "author": "Pier 7", "licence": "CC-BY-4.0",
}  # fmt: skip
"""Another value of each setting of the pack."""


@pytest.fixture(scope="module")
def table(tmp_path_factory: pytest.TempPathFactory) -> Iterator[TestClient]:
    """A browser that opened the printed address."""
    app, _ = page.build(tmp_path_factory.mktemp("p"), port=8418, token="jetty", warm=False)
    with TestClient(app, base_url=f"http://{HOST}", headers=HERE) as client:
        client.get("/open/jetty")
        yield client


@pytest.fixture(scope="module")
def puffin(table: TestClient) -> str:
    """The address of a project whose plate is made, on 2 x 2 boards."""
    answer = table.post("/api/projects?name=puffin.png", content=PUFFIN.read_bytes())
    return f"/api/projects/{answer.json()['id']}"


def ready(table: TestClient, at: str, what: str = "hand") -> dict[str, Any]:
    """The state of a project once its plate or its pack is done."""
    for _ in range(1200):
        state = dict(table.get(at).json())
        if state[what]["state"] == "done":
            return state
        assert state[what]["state"] != "failed", state[what]
        time.sleep(0.05)
    raise AssertionError(f"{what} is not done after a minute")


def choose(table: TestClient, at: str, settings: dict[str, Any]) -> Any:
    version = table.get(at).json()["version"]
    return table.post(f"{at}/settings", json={"version": version, "settings": settings})


BASE = {"board": "16x16"}


def test_each_option_of_the_pack_is_known_as_one() -> None:
    """A new one has to be put on one side or the other."""
    elsewhere = {"out", "zip", "board", "pitch_mm", "bags"}
    assert {field.name for field in fields(Credit)} <= set(OF_THE_PACK)
    elsewhere |= {"credit"}
    assert {field.name for field in fields(PackOptions)} - elsewhere <= set(OF_THE_PACK)
    assert set(OTHER) == set(OF_THE_PACK)
    assert all(tidied({**OTHER})[name] == value for name, value in OTHER.items())


def test_the_pack_makes_no_other_plate() -> None:
    plain, other = (
        draft_plate(PUFFIN, read_settings(settings), ask=lambda _: True)
        for settings in (BASE, BASE | OTHER)
    )
    assert plain.notes == other.notes
    assert plain.plate.cells.tolist() == other.plate.cells.tolist()
    assert plain.plate.made == other.plate.made
    assert plate_key(BASE) == plate_key(BASE | OTHER) != plate_key({})
    assert key_of(BASE) != key_of(BASE | OTHER)


def test_what_is_advised_to_buy_depends_on_bags() -> None:
    asked = {"stock_advice": True}
    assert plate_key(asked) != plate_key(asked | {"bag": "500"})
    assert plate_key(asked) == plate_key(asked | {"seams": "even"})


def test_a_proof_keeps_the_pack_but_not_seams_of_another_plate() -> None:
    hand = {"width": "40", "paper": "A3", "seams": "20/20"}
    assert with_pack_of({"look": "calm"}, hand) == {"look": "calm", "paper": "A3"}
    assert with_pack_of({"width": "40"}, hand) == hand
    assert with_pack_of({}, hand | {"seams": "even"}) == {"paper": "A3", "seams": "even"}


def test_other_seams_keep_the_plate_and_its_figures_follow(table: TestClient, puffin: str) -> None:
    assert choose(table, puffin, BASE).status_code == 200
    before = ready(table, puffin)
    made = before["hand"]["key"]
    answer = choose(table, puffin, BASE | {"seams": "9,16/10,20", "pace": "450"})
    hand = answer.json()["hand"]
    assert (hand["key"], hand["state"]) == (made, "done")  # at once: nothing had to be made
    assert hand["facts"]["boards"] == [3, 3]
    assert hand["facts"]["seams"] == [[9, 16], [10, 20]]
    assert before["hand"]["facts"]["boards"] == [2, 2]
    assert hand["facts"]["hours"] == pytest.approx(2 * before["hand"]["facts"]["hours"], abs=0.1)
    assert answer.json()["pack"]["key"] != before["pack"]["key"]
    undone = table.post(f"{puffin}/undo", json={"version": answer.json()["version"]}).json()
    assert undone["hand"]["facts"] == before["hand"]["facts"]


def test_seams_that_cannot_be_are_told_and_not_taken(table: TestClient, puffin: str) -> None:
    choose(table, puffin, BASE)
    ready(table, puffin)
    answer = choose(table, puffin, BASE | {"seams": "4/16"})
    assert answer.status_code == 400
    told = answer.json()["error"]
    assert told["field"] == "seams"
    assert told["words"].startswith("--seams: columns 5 to 25 are 21 pegs")
    assert table.get(puffin).json()["settings"] == BASE
    # Another size, for which seams by hand are not made: the plate is shown, and what is wrong.
    choose(table, puffin, BASE | {"seams": "12/16"})
    wider = choose(table, puffin, BASE | {"width": "50", "seams": "12/16"})
    assert wider.status_code == 200, wider.text
    for _ in range(600):
        hand = table.get(puffin).json()["hand"]
        if hand["facts"]:
            break
        time.sleep(0.05)
    assert (hand["state"], hand["error"]["field"]) == ("failed", "seams")
    assert hand["facts"]["size"] == [50, 62]


def test_a_page_is_told_where_the_library_cuts(table: TestClient, puffin: str) -> None:
    choose(table, puffin, BASE)
    ready(table, puffin)
    asked = {"settings": BASE | {"seams": "9/10,20", "boards_owned": "2"}}
    laid = table.post(f"{puffin}/boards", json=asked).json()
    assert (laid["size"], laid["board"], laid["seams"]) == ([25, 31], [16, 16], [[9], [10, 20]])
    assert [tile["name"] for tile in laid["tiles"]] == ["A1", "B1", "A2", "B2", "A3", "B3"]
    assert laid["tiles"][3]["size"] == [16, 10]
    beads = ready(table, puffin)["hand"]["facts"]["beads"]
    assert sum(tile["beads"] for tile in laid["tiles"]) == beads
    names = [name for each in laid["rounds"] for name in each]
    assert sorted(names) == sorted(t["name"] for t in laid["tiles"] if t["beads"])
    assert all(len(each) <= 2 for each in laid["rounds"])
    met = sum(laid["detail"][axis][peg] for axis in (0, 1) for peg in laid["seams"][axis])
    assert met == laid["cut"]
    assert len(laid["detail"][0]) == 26
    assert table.get(puffin).json()["settings"] == BASE  # nothing was saved
    for wrong in ({"seams": "4/16"}, {"boards_owned": "0"}):
        answer = table.post(f"{puffin}/boards", json={"settings": BASE | wrong})
        assert (answer.status_code, answer.json()["error"]["field"]) == (400, *wrong)
    later = table.post(f"{puffin}/boards", json={"settings": {"width": "33"}})
    assert later.status_code == 400
    assert later.json()["error"]["words"].startswith("the plate is not made yet")
    assert table.post(f"{puffin}/boards", json={"settings": [1]}).status_code == 400


@pytest.mark.parametrize("rounds", ["", "A2,B2/C1,C2/B1,A1"])
def test_a_pack_with_seams_and_rounds_by_hand_is_that_of_the_command_line(
    table: TestClient, puffin: str, tmp_path: Path, rounds: str
) -> None:
    settings = BASE | {"seams": "9,20/15", "boards_owned": "2", "printer_measured": "99.5"}
    settings |= {"rounds": rounds} if rounds else {}
    choose(table, puffin, settings)
    ready(table, puffin)
    table.post(f"{puffin}/pack", json={})
    pack = ready(table, puffin, "pack")["pack"]
    zipped = table.get(f"{puffin}/packs/{pack['key']}/puffin.zip").content
    good("make", PUFFIN, *command_words(settings), "--out", tmp_path, "--zip")
    assert zipped == (tmp_path / "puffin.zip").read_bytes()
    assert zipfile.ZipFile(io.BytesIO(zipped)).testzip() is None


@pytest.fixture(scope="module")
def packed(table: TestClient, puffin: str) -> str:
    """The address of a pack that is made."""
    choose(table, puffin, BASE)
    ready(table, puffin)
    table.post(f"{puffin}/pack", json={})
    return f"{puffin}/packs/{ready(table, puffin, 'pack')['pack']['key']}"


def test_pages_are_those_of_the_sheets(table: TestClient, packed: str, tmp_path: Path) -> None:
    (tmp_path / "sheets.pdf").write_bytes(table.get(f"{packed}/sheets.pdf").content)
    pages = table.get(f"{packed}/pages").json()
    words = page_words(tmp_path / "sheets.pdf")
    assert len(pages) == len(words) >= 5
    assert all(text.startswith(each["words"]) for text, each in zip(words, pages, strict=True))
    assert pages[0]["mm"] == [210.0, 297.0]
    for size, dpi in (("small", 60), ("print", 300)):
        answer = table.get(f"{packed}/pages/3/{size}.png")
        assert answer.headers["content-type"] == "image/png"
        ours = np.asarray(Image.open(io.BytesIO(answer.content)).convert("RGB"))
        np.testing.assert_array_equal(ours, render(tmp_path / "sheets.pdf", 2, dpi))


@pytest.mark.parametrize(
    "address",
    ["/pages/0/small.png", "/pages/99/small.png", "/pages/1/huge.png", "/pages/-1/small.png",
     "/pages/1/..%2fsmall.png", "/pages/one/small.png"],
)  # fmt: skip
def test_there_are_no_other_pages(table: TestClient, packed: str, address: str) -> None:
    assert table.get(packed + address).status_code == 404


def test_a_pack_that_is_none_has_no_pages(table: TestClient, puffin: str, packed: str) -> None:
    project = puffin.rpartition("/")[2]
    for key in ("0" * 16, "A" * 16, "..%2f..", "x"):
        assert table.get(f"{puffin}/packs/{key}/pages").status_code == 404, key
        assert table.get(f"{puffin}/packs/{key}/pages/1/small.png").status_code == 404
        assert table.get(f"/p/{project}/print/{key}").status_code == 404
        assert table.get(f"/p/{project}/follow/{key}").status_code == 404
    key = packed.rpartition("/")[2]
    assert table.get(f"/p/{'0' * 16}/follow/{key}").status_code == 404


def test_the_page_to_follow_has_a_policy_of_its_own(
    table: TestClient, puffin: str, packed: str
) -> None:
    key, project = packed.rpartition("/")[2], puffin.rpartition("/")[2]
    answer = table.get(f"/p/{project}/follow/{key}")
    assert answer.text == table.get(f"{packed}/follow.html").text
    policy = answer.headers["content-security-policy"]
    assert "default-src 'none'" in policy
    assert "unsafe" not in policy
    assert "connect-src" not in policy  # as default-src says: nothing may be asked for
    scripts = re.findall(r"<script>(.*?)</script>", answer.text, re.S)
    styles = re.findall(r"<style>(.*?)</style>", answer.text, re.S)
    for (text,), name in ((scripts, "script-src"), (styles, "style-src")):
        digest = base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()
        assert f"{name} 'sha256-{digest}';" in policy
    assert "sha256" not in table.get(f"{packed}/follow.html").headers["content-security-policy"]


def test_a_name_is_no_markup_on_the_page_to_follow(table: TestClient) -> None:
    name = "x'+alert(1)+'&lt;{TITLE}.png"
    answer = table.post(f"/api/projects?name={quote(name)}", content=PUFFIN.read_bytes())
    at = f"/api/projects/{answer.json()['id']}"
    ready(table, at)
    table.post(f"{at}/pack", json={})
    key = ready(table, at, "pack")["pack"]["key"]
    page = table.get(f"/p/{at.rpartition('/')[2]}/follow/{key}")
    assert page.text.count("<script") == 2
    assert len(re.findall(r"<script>", page.text)) == 1


def test_old_packs_go_first(tmp_path: Path) -> None:
    projects = Projects(tmp_path)
    project = projects.begin("gull.png")
    projects.adopt(project)
    for number in range(MOST_PACKS + 5):
        folder = projects.pack(project.id, f"{number:016x}")
        folder.mkdir(parents=True)
        os.utime(folder, (number, number))
    projects.tidy(project, {f"{1:016x}"})
    left = {path.name for path in (tmp_path / project.id / "packs").iterdir()}
    assert left == {f"{number:016x}" for number in (1, *range(5, MOST_PACKS + 5))}
