"""A phone beside the board: what it may ask, what comes of its ticks, and when it ends."""

from __future__ import annotations

import os
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import cv2
import numpy as np
import pytest
from starlette.testclient import TestClient
from support import SAMPLES
from worktable import browsing, drop, go, served

from img2plate.ui.worktable import shares
from img2plate.ui.worktable.web import app as page
from img2plate.ui.worktable.web.phone import build_phone

TABLE, PHONE = "127.0.0.1:8417", "192.168.1.20:40404"
HERE = {"origin": f"http://{TABLE}"}
THERE = {"origin": f"http://{PHONE}"}
LISTENS = "0A"
"""As Linux writes the state of a socket (man 5 proc, /proc/net/tcp)."""


@pytest.fixture(scope="module")
def both(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[TestClient, TestClient, str]]:
    """The table, a phone, and the address of a project whose pack is made."""
    folder = tmp_path_factory.mktemp("projects")
    app, here = page.build(folder, port=8417, token="lamp", warm=False, shared_at=f"http://{PHONE}")
    phone = TestClient(
        build_phone(here.shares, host=PHONE), base_url=f"http://{PHONE}", follow_redirects=False
    )
    with TestClient(app, base_url=f"http://{TABLE}") as table:
        table.get("/open/lamp")
        project = table.post("/api/samples/puffin.png", headers=HERE).json()["id"]
        at = f"/api/projects/{project}"
        ready(table, at, "hand")
        version = table.get(at).json()["version"]
        table.post(f"{at}/pack", json={"version": version}, headers=HERE)
        yield table, phone, at


def ready(table: TestClient, at: str, what: str) -> dict[str, Any]:
    """What is to be done, once it is."""
    for _ in range(1200):
        found = dict(table.get(at).json()[what])
        if found["state"] == "done":
            return found
        assert found["state"] != "failed", found
        time.sleep(0.05)
    raise AssertionError(f"{what} is not done after a minute")


@pytest.fixture
def link(both: tuple[TestClient, TestClient, str]) -> Iterator[str]:
    """Where the phone goes."""
    table, _, at = both
    key = ready(table, at, "pack")["key"]
    about = table.post(f"{at}/phone", json={"key": key}, headers=HERE)
    assert about.status_code == 200, about.text
    yield str(about.json()["link"]).removeprefix(f"http://{PHONE}")
    assert table.delete(f"{at}/phone", headers=HERE).json()["link"] == ""


def placed(table: TestClient, at: str) -> int:
    return sum(board["placed"] for board in table.get(f"{at}/phone").json()["boards"])


def test_ticks_arrive_and_are_kept(both: tuple[TestClient, TestClient, str], link: str) -> None:
    table, phone, at = both
    first = phone.post(f"{link}ticks", json={"after": 0}, headers=THERE).json()
    assert set(first["boards"]) == {"A1", "A2"}  # 25 x 31 beads on boards of 29 x 29
    before = placed(table, at)
    board = table.get(f"{at}/phone").json()["boards"][0]
    steps = [f"{row}:{colour}" for row in range(40) for colour in range(60)]
    words = {"after": first["version"], "on": {"A1": [*steps, "x", 7], "Z9": ["0:1"]}}
    told = phone.post(f"{link}ticks", json=words, headers=THERE).json()
    assert told["version"] > first["version"]
    assert "x" not in told["boards"]["A1"]  # what is no step is passed over
    assert placed(table, at) == before + board["beads"]
    done = table.get(f"{at}/phone").json()["boards"][0]
    assert (done["placed"], done["rows_placed"]) == (board["beads"], board["rows"])
    again = phone.post(f"{link}ticks", json={"after": told["version"]}, headers=THERE).json()
    assert again == {"version": told["version"], "boards": {}}
    # Another link for the same plate goes on where this one was.
    key = ready(table, at, "pack")["key"]
    table.post(f"{at}/phone", json={"key": key}, headers=HERE)
    assert placed(table, at) == before + board["beads"]
    assert phone.get(link).status_code == 404


def test_nothing_else_is_there(both: tuple[TestClient, TestClient, str], link: str) -> None:
    _, phone, at = both
    assert phone.get(link).status_code == 200
    wrong = phone.get("/guessed-guessed-guessed/")
    assert wrong.status_code == 404
    others = ("/", "/static/ask.js", "/api/start", at, f"{at}/phone", f"{link}x", link[:-1],
              f"{link}ticks", f"{link}../", "/open/lamp", "/docs", "/fonts/bold.ttf")  # fmt: skip
    answers = [phone.get(address) for address in others]
    answers += [phone.get(link, headers={"host": host}) for host in ("evil.example", TABLE)]
    answers += [phone.request(how, link) for how in ("POST", "PUT", "DELETE", "OPTIONS")]
    for origin in ({}, {"origin": "http://evil.example"}, HERE):
        answers.append(phone.post(f"{link}ticks", json={}, headers=origin))
    for answer in answers:
        assert (answer.status_code, answer.text) == (404, wrong.text), answer.request
        assert dict(answer.headers) == dict(wrong.headers)


def test_answers_are_strict_and_small(both: tuple[TestClient, TestClient, str], link: str) -> None:
    _, phone, _ = both
    answer = phone.get(link)
    assert "set-cookie" not in answer.headers
    policy = answer.headers["content-security-policy"]
    assert "default-src 'none'" in policy
    assert "unsafe" not in policy
    assert answer.headers["referrer-policy"] == "no-referrer"
    assert "access-control-allow-origin" not in answer.headers
    large = phone.post(f"{link}ticks", content=b" " * 70_000, headers=THERE)
    assert large.status_code == 413
    for words in (b"[]", b"{", b"[" * 60_000):
        assert phone.post(f"{link}ticks", content=words, headers=THERE).status_code == 400
    hurry = [phone.post(f"{link}ticks", json={}, headers=THERE).status_code for _ in range(90)]
    assert hurry[0] == 200
    assert 429 in hurry


def test_without_share_there_is_no_link(tmp_path: Path) -> None:
    app, _ = page.build(tmp_path, port=8417, token="lamp", warm=False)
    with TestClient(app, base_url=f"http://{TABLE}") as table:
        table.get("/open/lamp")
        project = table.post("/api/samples/puffin.png", headers=HERE).json()["id"]
        at = f"/api/projects/{project}/phone"
        assert table.get(at).json() == {"what": "phone", "can": False, "link": ""}
        refused = table.post(at, json={"key": "0" * 16}, headers=HERE)
        assert refused.status_code == 400
        assert refused.json()["error"]["words"] == shares.NOT_STARTED
        assert table.get(f"{at}/code.svg").status_code == 404


def listening(session: int) -> set[str]:
    """Addresses that any process of a session listens on, as Linux writes them."""
    inodes = set()
    for folder in Path("/proc").glob("[0-9]*"):
        try:
            if os.getsid(int(folder.name)) == session:
                inodes |= {str(each.readlink()) for each in (folder / "fd").iterdir()}
        except OSError:  # it has ended in the meantime
            continue
    found = set()
    for table in ("tcp", "tcp6", "udp", "udp6"):
        for line in Path("/proc/net", table).read_text().splitlines()[1:]:
            words = line.split()
            is_open = words[3] == LISTENS or table.startswith("udp")
            if is_open and f"socket:[{words[9]}]" in inodes:
                found.add(words[1].split(":")[0])
    return found


@pytest.mark.skipif(not Path("/proc/net/tcp").exists(), reason="sockets are read as Linux has them")
@pytest.mark.parametrize(
    ("more", "addresses"),
    [((), {"0100007F"}), (("--share", "127.0.0.2"), {"0100007F", "0200007F"})],
)
def test_only_what_was_asked_for_is_listened_on(
    tmp_path: Path, more: tuple[str, ...], addresses: set[str]
) -> None:
    with served(tmp_path, *more) as (address, process):
        assert address.startswith("http://127.0.0.1:")
        assert listening(os.getsid(process.pid)) == addresses


@pytest.mark.browser
def test_ticks_on_a_phone_are_seen_on_the_table(chromium: Any, tmp_path: Path) -> None:
    with served(tmp_path, "--share", "127.0.0.1") as (address, _):
        phone = chromium.new_context(
            viewport={"width": 390, "height": 844}, has_touch=True, is_mobile=True
        )
        wrong = []
        with browsing(chromium, address) as table:
            drop(table, SAMPLES / "puffin.png")
            go(table, "sheets")
            table.click("#phone-begin:enabled")
            table.wait_for_selector("#phone-boards li")
            link = table.text_content("#phone-link")
            table.locator("#phone-code").evaluate("image => image.decode()")
            seen = table.locator("#phone-code").screenshot()
            code = cv2.imdecode(np.frombuffer(seen, np.uint8), cv2.IMREAD_COLOR)
            assert cv2.QRCodeDetector().detectAndDecode(code)[0] == link

            one, other = phone.new_page(), phone.new_page()
            for each in (one, other):
                each.on("pageerror", lambda error: wrong.append(str(error)))
                each.goto(link)
                each.wait_for_selector("#linked:has-text('seen on the worktable')")
            one.tap("#tick")
            words = one.inner_text("#far").split(",")[0]
            assert not words.startswith("0 of")
            table.wait_for_selector(f"#phone-far:has-text('{words}')")
            table.wait_for_selector("#phone-boards li:has-text('1 of')")
            other.bring_to_front()
            other.wait_for_selector(f"#far:has-text('{words}')")
            other.tap("#up")
            other.tap("#tick")  # unticks the same row
            table.wait_for_selector("#phone-far:has-text('0 of')")
            one.bring_to_front()
            one.wait_for_selector("#far:has-text('0 of')")
            phone.set_offline(True)
            one.tap("#tick")  # the second row
            words = one.inner_text("#far").split(",")[0]
            one.wait_for_selector("#linked:has-text('sent later')")
            phone.set_offline(False)
            one.reload()
            table.wait_for_selector(f"#phone-far:has-text('{words}')")
            assert one.inner_text("#far").startswith(words)
            assert one.request.get(link).status == 200
        # The page on the table is closed.
        one.wait_for_selector("#linked:has-text('has ended this')")
        assert one.request.get(link).status == 404
        assert one.inner_text("#far").startswith(words)
        assert wrong == []
        phone.close()
