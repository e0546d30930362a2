"""The worktable's beads without a browser: palettes, colours that are off, files, the stock."""

from __future__ import annotations

import io
import time
import zipfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from command import good
from starlette.testclient import TestClient
from support import SAMPLES

from img2plate.base.errors import OptionError, StockError
from img2plate.colour.palette_file import find_palette
from img2plate.ui.worktable.web import app as page
from img2plate.ui.worktable.wishes import beads as wishes
from img2plate.ui.worktable.wishes.beads import fitted, stock_file, with_owned, with_proof
from img2plate.ui.worktable.wishes.files import MOST_BYTES, Files, is_word, plain, safe_name
from img2plate.ui.worktable.wishes.settings import command_line, key_of

HERE = {"origin": "http://127.0.0.1:8417"}
MARKUP = "<img src=x onerror=alert(1)>"
LAMPS = f"""# name: {MARKUP}
code,name,hex
red,{MARKUP},#B01E28
wht,gull white,#F1F1F1
nvy,night sea,#1C2A4A
ylw,lamp,#E8B42A
"""


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("projects")


@pytest.fixture(scope="module")
def table(folder: Path) -> Iterator[TestClient]:
    app, _ = page.build(folder, port=8417, token="lamp-room", warm=False)
    with TestClient(app, base_url=HERE["origin"], follow_redirects=False) as client:
        client.get("/open/lamp-room")
        yield client


class Project:
    """A project as its page sees it."""

    def __init__(self, table: TestClient, picture: Path) -> None:
        self.table = table
        answer = table.post(
            "/api/projects",
            params={"name": picture.name},
            content=picture.read_bytes(),
            headers=HERE,
        )
        self.id = answer.json()["id"]
        self.at = f"/api/projects/{self.id}"

    def post(self, what: str, **words: Any) -> Any:
        words["version"] = self.table.get(self.at).json()["version"]
        return self.table.post(f"{self.at}/{what}", json=words, headers=HERE)

    def send(self, field: str, name: str, data: bytes) -> Any:
        return self.table.post(
            f"{self.at}/files/{field}", params={"name": name}, content=data, headers=HERE
        )

    def kept(self, field: str, name: str, data: str) -> str:
        answer = self.send(field, name, data.encode())
        assert answer.status_code == 200, answer.text
        return str(answer.json()["word"])

    def ready(self, what: str = "hand") -> dict[str, Any]:
        for _ in range(1200):
            state = dict(self.table.get(self.at).json())
            assert state[what]["state"] != "failed", state[what]
            if state[what]["state"] == "done":
                return state
            time.sleep(0.05)
        raise AssertionError(f"{what} is not done after a minute")

    def beads(self) -> dict[str, Any]:
        self.ready()
        return dict(self.table.get(f"{self.at}/beads").json())

    def row(self, code: str) -> dict[str, Any]:
        return next(row for row in self.beads()["beads"] if row["code"] == code)


@pytest.fixture
def puffin(table: TestClient) -> Iterator[Project]:
    project = Project(table, SAMPLES / "puffin.png")
    yield project
    table.delete(project.at, headers=HERE)


def test_the_pack_with_own_files_is_that_of_the_command_line(
    puffin: Project, tmp_path: Path
) -> None:
    palette = puffin.kept("palette", "lamps of ours.csv", LAMPS)
    assert puffin.post("palette", palette=palette).status_code == 200
    counts = {"red": "400", "wht": "400", "nvy": "400", "ylw": ""}
    assert puffin.post("owned", owned=counts).status_code == 200
    bags = puffin.kept("bag", "bags.csv", "code,bag,price\n*,100,1.20\nred,50g,3\n")
    settings = puffin.ready()["settings"]
    settings |= {"bag": bags, "stock": settings["owned"]}
    assert puffin.post("settings", settings=settings).status_code == 200
    state = puffin.ready()
    assert state["command"] == (
        "img2plate make puffin.png --palette 'lamps of ours.csv' --stock stock.csv --bag bags.csv"
    )
    used = {colour["code"]: colour["beads"] for colour in state["hand"]["facts"]["colours"]}
    assert "ylw" not in used
    assert all(amount <= 400 for amount in used.values())
    for word in (palette, bags, settings["stock"]):
        answer = puffin.table.get(f"{puffin.at}/files/{word}")
        assert answer.headers["content-disposition"].startswith("attachment")
        (tmp_path / plain(word)).write_bytes(answer.content)
    assert (tmp_path / "stock.csv").read_text() == "code,count\nred,400\nwht,400\nnvy,400\n"
    puffin.post("pack")
    pack = puffin.ready("pack")["pack"]
    ours = puffin.table.get(f"{puffin.at}/packs/{pack['key']}/puffin.zip")
    words = ["--palette", "lamps of ours.csv", "--stock", "stock.csv", "--bag", "bags.csv"]
    good("make", SAMPLES / "puffin.png", *words, "--zip", cwd=tmp_path)
    mine = zipfile.ZipFile(io.BytesIO(ours.content))
    theirs = zipfile.ZipFile(tmp_path / "packs" / "puffin.zip")
    assert {n: mine.read(n) for n in mine.namelist()} == {
        n: theirs.read(n) for n in theirs.namelist()
    }


def test_what_is_missing_and_what_to_buy(puffin: Project) -> None:
    before = puffin.beads()
    assert before["sentence"] == "harbour-48, 48 colours, any number of beads"
    used = {row["code"]: row["beads"] for row in before["beads"] if row["beads"]}
    assert sum(used.values()) == puffin.ready()["hand"]["facts"]["beads"]
    (most, many), (other, few) = sorted(used.items(), key=lambda each: -each[1])[:2]
    owned = {code: str(2 * count) for code, count in used.items()} | {most: "10", other: "0"}
    puffin.post("owned", owned=owned)
    settings = puffin.ready()["settings"] | {"spare_percent": "0", "bag": "50", "bag_price": "1.5"}
    puffin.post("settings", settings=settings)
    after = puffin.beads()
    assert {row["code"]: row["beads"] for row in after["beads"] if row["beads"]} == used
    short = {line["code"]: line for line in after["short"]["colours"]}
    assert {code: line["missing"] for code, line in short.items()} == {most: many - 10, other: few}
    assert short[other]["bags"] == -(-few // 50)
    assert after["short"]["price"] == 1.5 * (short[most]["bags"] + short[other]["bags"])
    assert puffin.row(most)["missing"] == many - 10
    assert after["sentence"] == (
        f"harbour-48, 48 colours, stock of {len(used) - 1} colours,"
        f" 2 colours are short by {many - 10 + few:,} beads"
    )
    key = puffin.ready()["hand"]["key"]
    puffin.post("owned", owned={})
    assert puffin.beads()["owned"] is None
    assert puffin.ready()["hand"]["key"] == key  # what is owned changes no plate by itself


def test_undo_brings_the_earlier_stock_and_palette_back(puffin: Project) -> None:
    first = puffin.kept("palette", "lamps.csv", LAMPS)
    second = puffin.kept("palette", "lamps.csv", LAMPS.replace("#B01E28", "#7A1018"))
    assert plain(first) == plain(second) == "lamps.csv"
    assert first != second
    puffin.post("palette", palette=first)
    one = puffin.ready()
    puffin.post("palette", palette=second)
    two = puffin.ready()
    assert one["command"] == two["command"]  # the file of that name is another one
    assert one["hand"]["key"] != two["hand"]["key"]
    assert one["hand"]["facts"]["digest"] != two["hand"]["facts"]["digest"]
    puffin.post("owned", owned={"red": "900", "wht": "900"})
    puffin.post("settings", settings=two["settings"] | {"without": ["nvy"]})
    puffin.post("undo")
    assert puffin.row("red")["owned"] == 900
    puffin.post("undo")
    assert puffin.row("red")["owned"] is None
    puffin.post("undo")
    assert puffin.ready()["hand"]["facts"]["digest"] == one["hand"]["facts"]["digest"]
    assert {each["word"] for each in puffin.beads()["own"]} == {first, second}


def test_a_colour_that_is_off_is_not_used(puffin: Project) -> None:
    most = max(puffin.beads()["beads"], key=lambda row: row["beads"])["code"]
    puffin.post("settings", settings={"without": [most]})
    assert (puffin.row(most)["off"], puffin.row(most)["beads"]) == ("without", 0)
    assert puffin.beads()["sentence"].startswith("harbour-48, 47 of 48 colours")
    # What does not go with another palette is left out, what does stays.
    puffin.post("owned", owned={most: "5"})
    mine = puffin.kept("palette", "lamps.csv", LAMPS)
    assert puffin.post("palette", palette=mine).json()["settings"] == {"palette": mine}
    puffin.post("undo")
    taken = puffin.post("take", settings={"shading": "bayer"}).json()["settings"]
    assert taken["without"] == [most]
    assert (taken["shading"], "owned" in taken) == ("bayer", True)


REFUSED = {
    "markup": ("palette", "a.csv", MARKUP.encode(), "a.csv, row 1: no column 'code'"),
    "bytes": ("palette", "a.csv", b"\xff\xfe\x00\x01" * 9, "a.csv: saved as UTF-16"),
    "zero": ("palette", "a.csv", b"code,hex\n\0", "a.csv: not a text file"),
    "empty": ("palette", "a.csv", b"", "a.csv: nothing in it; a palette starts with code,hex"),
    "colour": ("palette", "a.csv", b"code,hex\na,#12\n", "a.csv, row 2, column hex"),
    "gpl": ("palette", "a.gpl", b"GIMP Palette\n300 0 0 x\n", "row 2, column red: 300 is over"),
    "ending": ("palette", "a.exe", LAMPS.encode(), "'a.exe' is not the name of a .csv or .gpl"),
    "stock": ("stock", "s.csv", b"code,count\nred,-1\n", "s.csv, row 2, column count: -1 is below"),
    "bags": ("bag", "b.csv", b"code,bag\nred,many\n", "b.csv, row 2, column bag: 'many' is not"),
}


@pytest.mark.parametrize("case", REFUSED)
def test_a_file_that_is_wrong_is_told_as_on_the_command_line_and_gone(
    puffin: Project, folder: Path, case: str
) -> None:
    field, name, data, words = REFUSED[case]
    good_one = puffin.kept("palette", "lamps.csv", LAMPS)
    answer = puffin.send(field, name, data)
    assert answer.status_code == 400
    error = answer.json()["error"]
    assert words in error["words"]
    assert str(folder) not in error["words"]
    assert error["field"] in (field, "")  # bags are read after the options, as there
    assert Files(folder / puffin.id / "files").words() == [good_one]


def test_a_kept_file_is_not_lost_when_it_is_sent_as_something_else(
    puffin: Project, folder: Path
) -> None:
    word = puffin.kept("palette", "lamps.csv", LAMPS)
    assert puffin.send("stock", "lamps.csv", LAMPS.encode()).status_code == 400
    assert Files(folder / puffin.id / "files").path(word, "palette").is_file()


def test_too_much_is_refused(puffin: Project, monkeypatch: pytest.MonkeyPatch) -> None:
    assert puffin.send("palette", "a.csv", bytes(MOST_BYTES + 1)).status_code == 413
    headers = {**HERE, "content-length": str(2 << 30)}
    answer = puffin.table.post(f"{puffin.at}/files/palette", content=b"x", headers=headers)
    assert answer.status_code == 413
    monkeypatch.setattr(wishes, "MOST_COLOURS", 3)
    answer = puffin.send("palette", "a.csv", LAMPS.encode())
    assert answer.json()["error"]["words"].startswith("a.csv: 4 colours are too many")
    assert puffin.send("nonsense", "a.csv", LAMPS.encode()).status_code == 404


@pytest.mark.parametrize(
    "name", ["../../evil.csv", r"..\..\evil.csv", "/etc/evil.csv", f"{MARKUP}.csv", "\n\x00a.csv"]
)
def test_a_name_stays_in_its_folder_and_is_words_alone(
    puffin: Project, folder: Path, name: str
) -> None:
    word = puffin.kept("palette", name, LAMPS)
    assert plain(word) == safe_name(name)
    assert not set(plain(word)) & set('/\\<>:"|?*\n\x00')
    files = [path for path in (folder / puffin.id / "files").rglob("*") if path.is_file()]
    assert [path.name for path in files] == [safe_name(name)]
    assert puffin.post("palette", palette=word).status_code == 200
    assert puffin.row("red")["name"] == MARKUP  # as text: the page writes no markup


@pytest.mark.parametrize(
    "word",
    ["../project.json", f"{'0' * 16}/..", "..%2fproject.json", f"{'0' * 16}/a.csv", "%2e%2e"],
)
def test_words_for_files_lead_nowhere_else(puffin: Project, word: str) -> None:
    assert puffin.table.get(f"{puffin.at}/files/{word}").status_code in (404, 405)
    for what, words in (
        ("palette", {"palette": word}),
        ("owned", {"word": word}),
        ("settings", {"settings": {"bag": f"{word}.csv"}}),
        ("take", {"settings": {"stock": word}}),
    ):
        answer = puffin.post(what, **words)
        assert answer.status_code == 400, what
    assert not is_word("../0123456789abcdef")
    assert not is_word("0123456789abcdef/../a.csv")


def test_a_stock_of_another_palette_is_told_by_its_row(puffin: Project) -> None:
    word = puffin.kept("stock", "mine.csv", "code,count\nnonesuch,40\n")
    answer = puffin.post("owned", word=word)
    assert answer.status_code == 400
    assert answer.json()["error"] == {
        "field": "stock",
        "words": "mine.csv, row 2, column code: palette harbour-48 has no 'nonesuch'",
    }
    answer = puffin.post("owned", owned={"klp": "a lot"})
    assert answer.json()["error"]["words"] == "klp: 'a lot' is not a whole number of beads"


def test_settings_of_the_beads(tmp_path: Path) -> None:
    files = Files(tmp_path)
    harbour = find_palette("harbour-48")
    code = harbour.beads[5].code
    word = files.keep("stock.csv", stock_file({code: " 12 "}, harbour))
    assert files.keep("stock.csv", f"code,count\n{code},12\n".encode()) == word
    assert stock_file({code: ""}, harbour) == b""
    with pytest.raises(OptionError, match="no colour with code"):
        stock_file({"nonesuch": "1"}, harbour)
    with pytest.raises(StockError):
        stock_file({code: "1_000"}, harbour)
    kept = with_owned({"stock": "0" * 16 + "/old.csv", "stock_advice": True}, word)
    assert kept == {"stock": word, "stock_advice": True, "owned": word}
    assert with_owned(kept, "") == {}
    assert with_proof({**kept, "width": "9"}, {"seed": "1"}, files) == {**kept, "seed": "1"}
    assert fitted({"without": [f"{code},nonesuch"], "only": "nonesuch"}, files) == {
        "without": [code]
    }
    assert key_of({"owned": word}) == key_of({})
    assert key_of({"stock": word}) != key_of({})
    assert command_line("gull.png", {"owned": word}) == "img2plate make gull.png"


def test_only_the_oldest_files_go_and_none_that_can_be_undone(tmp_path: Path) -> None:
    files = Files(tmp_path)
    mine = files.keep("lamps.csv", LAMPS.encode())
    words = [files.keep("stock.csv", f"code,count\nred,{n}\n".encode()) for n in range(203)]
    files.tidy({words[0]}, ("stock.csv", "touched.json"))
    left = set(files.words())
    assert left == {mine, words[0], *words[3:]}
