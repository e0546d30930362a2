"""The worktable without a browser: who may ask, what may be asked, and the plate that comes out."""

from __future__ import annotations

import asyncio
import io
import re
import socket
import struct
import time
import zipfile
import zlib
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import pytest
from command import good
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image
from starlette.testclient import TestClient
from support import SAMPLES

from img2plate.base.errors import Img2PlateError, OptionError
from img2plate.pipeline.options import MakeOptions
from img2plate.ui.worktable.store.projects import Projects, StaleError
from img2plate.ui.worktable.table import Table
from img2plate.ui.worktable.web import app as page
from img2plate.ui.worktable.web import bodies
from img2plate.ui.worktable.web.doors import tcp_socket
from img2plate.ui.worktable.web.pages import STATIC, page_text
from img2plate.ui.worktable.wishes.files import Files, safe_name
from img2plate.ui.worktable.wishes.form import form
from img2plate.ui.worktable.wishes.settings import (
    checked,
    command_line,
    command_words,
    key_of,
    read_settings,
    tidied,
)
from img2plate.ui.worktable.work.jobs import Job, Jobs
from img2plate.ui.worktable.work.workers import DIED, Worker

HOST = "127.0.0.1:8417"
HERE = {"origin": f"http://{HOST}"}
TOKEN = "lamp-room"


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("projects")


@pytest.fixture(scope="module")
def door(folder: Path) -> Iterator[TestClient]:
    """Asks the page; nobody has shown the token yet."""
    app, _ = page.build(folder, port=8417, token=TOKEN, warm=False)
    with TestClient(app, base_url=f"http://{HOST}", follow_redirects=False) as client:
        yield client


@pytest.fixture
def table(door: TestClient) -> Iterator[TestClient]:
    """As the browser that opened the printed address."""
    door.get(f"/open/{TOKEN}")
    yield door
    door.cookies.clear()


def upload(table: TestClient, data: Any, name: str = "picture.png") -> Any:
    return table.post("/api/projects", params={"name": name}, content=data, headers=HERE)


def ready(table: TestClient, project: str, what: str = "hand") -> dict[str, Any]:
    """The state of a project once its plate or its pack is done."""
    for _ in range(1200):
        state = dict(table.get(f"/api/projects/{project}").json())
        if state[what]["state"] == "done":
            return state
        assert state[what]["state"] != "failed", state[what]
        time.sleep(0.05)
    raise AssertionError(f"{what} is not done after a minute")


def png_of_size(width: int, height: int) -> bytes:
    """The head of a PNG that says a size, with hardly any pixels behind it."""

    def chunk(name: bytes, data: bytes) -> bytes:
        crc = struct.pack(">I", zlib.crc32(name + data))
        return struct.pack(">I", len(data)) + name + data + crc

    head = struct.pack(">IIBBBBB", width, height, 8, 6, 0, 0, 0)
    pixels = zlib.compress(bytes(1000))
    return (
        b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", pixels) + chunk(b"IEND", b"")
    )


def test_the_token_of_the_address_becomes_a_cookie(door: TestClient) -> None:
    assert door.get("/").status_code == 403
    assert door.get("/open/lamp").status_code == 403
    assert door.get("/").status_code == 403
    answer = door.get(f"/open/{TOKEN}")
    assert answer.status_code == 303
    cookie = answer.headers["set-cookie"].lower()
    assert "httponly" in cookie
    assert "samesite=strict" in cookie
    assert door.get("/").status_code == 200
    door.cookies.clear()
    door.cookies.set("worktable-8417", "guessed", domain="127.0.0.1")
    assert door.get("/api/start").status_code == 403
    door.cookies.clear()


def test_without_the_token_nothing_is_told_or_done(door: TestClient, folder: Path) -> None:
    for address in (
        "/api/start",
        "/api/form",
        "/static/ask.js",
        "/samples/puffin.png",
        "/fonts/bold.ttf",
    ):
        assert door.get(address).status_code == 403, address
    before = set(folder.iterdir())
    assert door.post("/api/samples/puffin.png", headers=HERE).status_code == 403
    assert set(folder.iterdir()) == before


@pytest.mark.parametrize(
    "host", ["evil.example", "evil.example:8417", "127.0.0.1:80", "[::1]:8417", ""]
)
def test_another_host_is_refused(table: TestClient, host: str) -> None:
    assert table.get("/api/start", headers={"host": host}).status_code == 421
    assert table.get(f"/open/{TOKEN}", headers={"host": host}).status_code == 421


@pytest.mark.parametrize(
    "headers",
    [
        {},
        {"origin": "null"},
        {"origin": "http://evil.example"},
        {"origin": "http://127.0.0.1:9000"},
        {"origin": "https://127.0.0.1:8417"},
        {**HERE, "sec-fetch-site": "cross-site"},
    ],
)
def test_another_page_changes_nothing(
    table: TestClient, folder: Path, headers: dict[str, str]
) -> None:
    before = set(folder.iterdir())
    assert table.post("/api/samples/puffin.png", headers=headers).status_code == 403
    assert set(folder.iterdir()) == before


def test_another_page_reads_nothing(table: TestClient) -> None:
    for headers in ({"origin": "http://evil.example"}, {"sec-fetch-site": "same-site"}):
        answer = table.get("/api/start", headers=headers)
        assert answer.status_code == 403
        assert not [name for name in answer.headers if name.startswith("access-control")]
    assert table.options("/api/start", headers={"origin": "http://evil.example"}).status_code == 403


def test_every_answer_says_what_a_browser_may_do(table: TestClient) -> None:
    for address in ("/", "/api/start", "/static/look.css", "/nowhere", "/samples/puffin.png"):
        headers = table.get(address).headers
        policy = headers["content-security-policy"]
        assert "default-src 'none'" in policy
        assert "unsafe" not in policy
        assert "data:" not in policy
        assert headers["x-content-type-options"] == "nosniff"
        assert headers["cross-origin-resource-policy"] == "same-origin"
    for name in ("start", "project", "figure", "together", "print"):
        html = page_text(name)
        assert html.startswith("<!doctype html>")
        assert " style=" not in html
        assert "<style" not in html
        assert " onclick" not in html
        assert html.count("<script") == html.count('<script type="module" src="/static/')


TRAVERSAL = ["..", "%2e%2e", "..%2f..", "..%5c..", "%2fetc%2fpasswd", "a" * 16, "A" * 16, "0" * 15]


@pytest.mark.parametrize("name", TRAVERSAL)
def test_no_address_leads_to_other_files(table: TestClient, name: str) -> None:
    for address in (
        f"/p/{name}",
        f"/api/projects/{name}",
        f"/api/projects/{name}/picture.png",
        f"/api/projects/{name}/plates/{'0' * 16}/near.png",
        f"/static/{name}/app.py",
        f"/static/{name}%2fapp.py",
        f"/samples/{name}",
        f"/samples/{name}%2fgull.png",
    ):
        answer = table.get(address)
        to_the_first_page = answer.url.path == "/"  # what a browser makes of /p/.. by itself
        assert answer.status_code in (403, 404, 405) or to_the_first_page, address


def test_names_inside_a_project_are_checked(table: TestClient) -> None:
    project = upload(table, (SAMPLES / "anchor.png").read_bytes()).json()["id"]
    at = f"/api/projects/{project}"
    key = ready(table, project)["hand"]["key"]
    assert table.get(f"{at}/plates/{key}/near.png").status_code == 200
    for name in ("facts.json", "..%2fproject.json", "near.png%2f..%2ffacts.json", "project.json"):
        assert table.get(f"{at}/plates/{key}/{name}").status_code == 404, name
        assert table.get(f"{at}/packs/{key}/{name}").status_code == 404, name
    for wrong in ("..", "..%2f..", "x", "%2e%2e"):
        assert table.get(f"{at}/plates/{wrong}/near.png").status_code in (404, 405)
        assert table.get(f"{at}/packs/{wrong}/plate.png").status_code in (404, 405)
    assert table.post(f"{at}/nonsense", headers=HERE, content="{}").status_code == 404
    assert table.post(f"{at}/settings", headers=HERE, content="[1]").status_code == 400
    assert table.post(f"{at}/settings", headers=HERE, content="{").status_code == 400
    assert table.delete(at, headers=HERE).status_code == 204
    assert table.get(at).status_code == 404


@pytest.mark.parametrize(
    "name",
    ["../../evil.png", r"..\..\evil.png", "/etc/evil.png", r"C:\evil.png", "<img src=x>evil.png",
     "\x00evil\n.png", "..", "", ".png", "évil " * 60 + ".png", "CON:evil.png"],
)  # fmt: skip
def test_an_uploaded_name_stays_in_its_folder(table: TestClient, folder: Path, name: str) -> None:
    answer = upload(table, (SAMPLES / "anchor.png").read_bytes(), name)
    assert answer.status_code == 201, answer.text
    home = folder / answer.json()["id"]
    (file,) = (home / "source").iterdir()
    assert file.name == safe_name(name)
    assert not set(file.name) & set('/\\<>:"|?*\n\x00')
    table.delete(f"/api/projects/{home.name}", headers=HERE)


@given(st.text(max_size=300))
def test_any_name_becomes_one_that_any_system_can_have(name: str) -> None:
    safe = safe_name(name)
    assert Path(safe).name == safe
    assert safe.strip(" ") == safe
    assert not safe.startswith(".")
    assert safe_name(safe) == safe
    assert len(safe.encode()) <= 200


REFUSED = {
    "60000x60000": (png_of_size(60000, 60000), "60000 x 60000 pixels, which"),
    "svg": (
        b'<svg xmlns="http://www.w3.org/2000/svg"><script>alert(1)</script></svg>',
        "not a pic",
    ),
    "empty": (b"", "empty"),
    "cut off": ((SAMPLES / "puffin.png").read_bytes()[:200], "damaged"),
    "html": (b"<!doctype html><script>alert(1)</script>", "not a picture"),
}


@pytest.mark.parametrize("case", REFUSED)
def test_what_is_no_picture_is_refused_and_gone(table: TestClient, folder: Path, case: str) -> None:
    data, words = REFUSED[case]
    before = set(folder.iterdir())
    answer = upload(table, data, "boat.png")
    assert answer.status_code == 400
    said = answer.json()["error"]["words"]
    assert words in said
    assert said.count("boat.png") == 1
    assert str(folder) not in said
    assert set(folder.iterdir()) == before


@pytest.mark.parametrize("chunked", [True, False])
def test_too_many_bytes_are_refused_before_they_are_read(
    table: TestClient, folder: Path, monkeypatch: pytest.MonkeyPatch, chunked: bool
) -> None:
    monkeypatch.setattr(bodies, "MOST_BYTES", 5000)
    before = set(folder.iterdir())
    answer = upload(table, iter([bytes(3000)] * 3) if chunked else bytes(9000))
    assert answer.status_code == 413
    assert set(folder.iterdir()) == before


def test_two_gigabytes_are_refused_by_what_they_say_of_themselves(table: TestClient) -> None:
    headers = {**HERE, "content-length": str(2 << 30)}
    assert table.post("/api/projects", content=b"x", headers=headers).status_code == 413


@pytest.mark.parametrize(
    ("settings", "field"),
    [
        ({"palette": "/etc/passwd"}, "palette"),
        ({"palette": "../palettes/quay-24.csv"}, "palette"),
        ({"bag": "/etc/bags.csv"}, "bag"),
        ({"stock": "stock.csv"}, "stock"),
        ({"stock": f"{'a' * 16}/stock.csv"}, "stock"),
        ({"palette": f"{'a' * 16}/../../mine.csv"}, "palette"),
        ({"owned": "/etc/passwd"}, "owned"),
        ({"out": "/tmp"}, ""),
        ({"max_megapixels": "100000"}, ""),
        ({"width": "a lot"}, "width"),
        ({"width": 40}, "width"),
        ({"width": "0"}, "width"),
        ({"width": "40", "boards": "2x2"}, ""),
        ({"board": "29"}, "board"),
        ({"look": "lively"}, "look"),
        ({"only": ["nonesuch"]}, "only"),
        ({"trim": "yes"}, "trim"),
        ({"crop": "1\n2"}, "crop"),
        ({"background": "x" * 500}, "background"),
    ],
)
def test_settings_that_cannot_be_are_told_beside_their_field(
    tmp_path: Path, settings: dict[str, Any], field: str
) -> None:
    with pytest.raises(OptionError) as refused:
        checked(settings, Files(tmp_path))
    assert refused.value.field == field


def test_settings_are_words_of_the_command_line() -> None:
    settings = {
        "width": "40",
        "trim": True,
        "only": ["klp", "tar"],
        "look": "balanced",
        "seed": "0",
    }
    assert tidied(settings) == {"width": "40", "trim": True, "only": ["klp", "tar"]}
    options = read_settings(settings)
    assert (options.size.width, options.source.trim) == (40, True)
    assert options.choice.only == ("klp", "tar")
    assert read_settings({}) == MakeOptions()
    line = command_line("a gull's.png", tidied(settings))
    assert line == """img2plate make 'a gull'"'"'s.png' --trim --width 40 --only klp --only tar"""
    assert command_words({"light": "-90"}) == ["--light=-90"]
    assert key_of({"width": "40", "trim": True}) == key_of({"trim": True, "width": "40"})


def test_every_option_of_make_is_on_the_page_with_its_hint() -> None:
    names = [field["name"] for field in form()]
    assert names[:4] == ["source", "width", "boards", "palette"]
    assert {"specks", "seams", "bag", "scatter", "printer_measured"} <= set(names)
    assert {"stock", "stock_advice"} <= set(names)
    assert not {"out", "zip", "yes", "as_json"} & set(names)
    for field in form():
        assert field["hint"], field
        usual = field["default"]
        assert not usual or tidied({field["name"]: usual}) == {}, field


def test_the_pack_is_that_of_the_command_line_bit_by_bit(table: TestClient, tmp_path: Path) -> None:
    picture = tmp_path / "a puffin.png"
    Image.open(SAMPLES / "puffin.png").resize((75, 93), Image.Resampling.NEAREST).save(picture)
    project = upload(table, picture.read_bytes(), picture.name).json()["id"]
    state = ready(table, project)
    settings = {"palette": "quay-24", "board": "20x20", "spare_percent": "10", "paper": "A3"}
    at = f"/api/projects/{project}"
    words = {"version": state["version"], "settings": settings}
    assert table.post(f"{at}/settings", json=words, headers=HERE).status_code == 200
    state = ready(table, project)
    assert state["kind"]["source"] == "sprite"
    assert state["hand"]["facts"]["boards"] == [2, 2]
    assert table.post(f"{at}/pack", json={}, headers=HERE).status_code == 200
    pack = ready(table, project, "pack")["pack"]
    answer = table.get(f"{at}/packs/{pack['key']}/{pack['files'][0]}")
    assert answer.headers["content-disposition"].startswith("attachment")
    good("make", picture, *command_words(settings), "--out", tmp_path / "packs", "--zip")
    ours = zipfile.ZipFile(io.BytesIO(answer.content))
    theirs = zipfile.ZipFile(tmp_path / "packs" / "a puffin.zip")
    assert ours.namelist() == theirs.namelist()
    for name in theirs.namelist():
        assert ours.read(name) == theirs.read(name), name
    one = table.get(f"{at}/packs/{pack['key']}/plate.png")
    assert one.content == theirs.read("a puffin/plate.png")


def test_a_plate_is_estimated_and_nothing_is_saved(table: TestClient, folder: Path) -> None:
    project = upload(table, (SAMPLES / "gull.png").read_bytes()).json()["id"]
    at = f"/api/projects/{project}"
    assert table.get(f"{at}/picture").json() == {"size": [31, 35], "see_through": True}
    (folder / project / "picture.json").unlink()  # as an older version leaves it
    assert table.get(f"{at}/picture").json() == {"size": [31, 35], "see_through": True}
    before = ready(table, project)
    words = {"settings": {"width": "62", "bag": "1000", "bag_price": "3"}}
    found = table.post(f"{at}/estimate", json=words, headers=HERE).json()
    assert (found["size"], found["boards"]) == ([62, 70], [3, 3])
    assert found["beads"] == 4 * before["hand"]["facts"]["beads"]
    assert float(found["price"]) == 3 * len(before["hand"]["facts"]["colours"])
    assert table.get(at).json()["version"] == before["version"]
    words = {"settings": {"crop": "0,0,40,10"}}
    refused = table.post(f"{at}/estimate", json=words, headers=HERE)
    assert refused.status_code == 400
    assert refused.json()["error"]["field"] == "crop"
    assert table.post(f"{at}/estimate", json={}, headers=HERE).status_code == 400
    assert table.post(f"{at}/estimate", json=words).status_code == 403


def test_history_versions_and_what_a_crash_leaves(tmp_path: Path) -> None:
    projects = Projects(tmp_path)
    new = projects.begin("gull.png")
    assert not list(projects.listed())  # nothing is listed before its picture was read
    projects.adopt(new)
    one = projects.save(projects.load(new.id).with_settings({"width": "40"}))
    two = projects.save(one.with_settings({"width": "50"}))
    back = projects.save(two.moved(-1))
    assert projects.load(new.id).settings == {"width": "40"}
    with pytest.raises(StaleError):
        projects.save(two.with_settings({}))
    assert Projects(tmp_path).load(new.id) == back
    assert back.moved(1).settings == {"width": "50"}
    assert back.moved(9).at == 2
    branch = projects.save(back.with_settings({"trim": True}))
    assert branch.history == ({}, {"width": "40"}, {"trim": True})
    (tmp_path / new.id / "project.json").write_text('{"file_name": "gull')
    assert list(projects.listed()) == []  # a damaged one loses only itself


def test_a_worker_that_dies_is_an_error_and_the_next_task_is_done(tmp_path: Path) -> None:
    worker = Worker()
    picture, small = SAMPLES / "gull.png", tmp_path / "small.png"
    arguments = (SAMPLES / "gull.png", {}, Files(tmp_path / "files"), tmp_path / "plate")

    def die(*_: object) -> None:
        assert worker._process is not None
        worker._process.kill()

    with pytest.raises(Img2PlateError, match=DIED):
        worker.run("make_plate", arguments, die)
    assert not (tmp_path / "plate").exists()
    assert worker.run("take_in", (picture, small), print)["size"] == [31, 35]
    worker.end()


def test_stopped_work_stops_and_the_lane_goes_on(tmp_path: Path) -> None:
    heard: list[tuple[str, str]] = []
    jobs = Jobs(lambda job: heard.append((job.key, job.state)))
    photo, gull = SAMPLES / "harbour.jpg", SAMPLES / "gull.png"
    files, quay = Files(tmp_path / "files"), {"palette": "quay-24"}

    def job(name: str, picture: Path, settings: dict[str, str], order: int) -> Job:
        arguments = picture, settings, files, tmp_path / name
        return Job("p", name, "make_plate", arguments, "long", order)

    slow, later = job("slow", photo, {"width": "200"}, 1), job("later", gull, {}, 2)
    last = job("last", gull, quay, 3)
    for each in (slow, later, last):
        jobs.start(each)
    while slow.state == "waiting":
        time.sleep(0.01)
    jobs.stop("p", {"slow", "later"})
    assert last.finished.wait(60)
    assert [each.state for each in (slow, later, last)] == ["stopped", "stopped", "done"]
    assert {path.name for path in tmp_path.iterdir()} == {"last"}
    assert heard[-1] == ("last", "done")
    jobs.end()


def test_work_whose_project_is_gone_leaves_its_lane_alive(tmp_path: Path) -> None:
    jobs = Jobs(lambda _job: None)
    small = SAMPLES / "gull.png", tmp_path / "small.png"

    def gone(_result: object) -> None:
        raise KeyError("0" * 16)

    first = jobs.start(Job("p", "first", "take_in", small, then=gone))
    second = jobs.start(Job("q", "second", "take_in", small))
    assert second.finished.wait(60)
    assert (first.state, second.state) == ("stopped", "done")
    jobs.end()


def test_two_pages_do_not_overwrite_each_other(table: TestClient) -> None:
    project = upload(table, (SAMPLES / "anchor.png").read_bytes(), "anchor.png").json()["id"]
    at, version = f"/api/projects/{project}", ready(table, project)["version"]

    def post(what: str, **words: Any) -> Any:
        return table.post(f"{at}/{what}", json=words, headers=HERE)

    assert post("settings", version=version, settings={"palette": "quay-24"}).status_code == 200
    late = post("settings", version=version, settings={"palette": "sea-96"})
    assert late.status_code == 409
    assert post("undo", version=version).status_code == 409
    newest = ready(table, project)
    assert newest["settings"] == {"palette": "quay-24"}
    assert post("undo", version=newest["version"]).json()["settings"] == {}


def test_proofs_differ_and_the_likeliest_comes_first(tmp_path: Path) -> None:
    table = Table(tmp_path / "projects", lambda _project, _event: None, warm=False)
    project = table.begin("puffin.png")
    table.projects.source(project).write_bytes((SAMPLES / "puffin.png").read_bytes())
    table.take_in(project)
    for _ in range(1200):
        state = table.state(project.id)
        if not state["proposing"] and all(proof["facts"] for proof in state["proofs"]):
            break
        time.sleep(0.05)
    table.end()
    proofs = state["proofs"]
    assert proofs[0]["settings"] == state["settings"] == {}
    assert len(proofs) >= 4
    assert len({proof["facts"]["digest"] for proof in proofs}) == len(proofs)
    assert any("quay-24" in proof["words"] for proof in proofs)
    assert any(proof["facts"]["size"] == [50, 62] for proof in proofs)


def test_no_two_places_style_the_same_class() -> None:
    """All places are on one page: a class that two of them mean differently breaks one."""
    begins: dict[str, set[str]] = {}
    for sheet in (STATIC / "places").glob("*.css"):
        text = re.sub(r"/\*.*?\*/", "", sheet.read_text(encoding="utf-8"), flags=re.S)
        for name in re.findall(r"(?:^|[},])\s*(\.[a-z-]+)", text):
            begins.setdefault(name, set()).add(sheet.name)
    assert {name: files for name, files in begins.items() if len(files) > 1} == {}


def test_answers_do_not_wait_for_acknowledgements() -> None:
    """asyncio turns Nagle's waiting off for accepted connections that say that they are TCP."""
    with tcp_socket() as door:
        door.bind(("127.0.0.1", 0))
        door.listen()

        async def answered() -> int:
            seen: asyncio.Future[int] = asyncio.get_running_loop().create_future()

            async def accept(_reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
                there = writer.get_extra_info("socket")
                seen.set_result(there.getsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY))
                writer.close()

            async with await asyncio.start_server(accept, sock=door):
                _, writer = await asyncio.open_connection(*door.getsockname())
                found = await seen
                writer.close()
            return found

        with ThreadPoolExecutor(1) as beside:  # here a browser's loop may be running
            assert beside.submit(asyncio.run, answered()).result()
