"""The worktable when it has a lot to do: huge plates, searches, many requests, a killed server."""

from __future__ import annotations

import io
import os
import re
import signal
import subprocess
from collections import Counter
from concurrent.futures import ThreadPoolExecutor
from http.client import HTTPConnection, HTTPResponse
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image
from support import SAMPLES, some
from worktable import browsing, go, served, until

from img2plate.base.errors import SizeError
from img2plate.pipeline.draft import draft_plate
from img2plate.plate.plate import Plate
from img2plate.ui.worktable.table import Table
from img2plate.ui.worktable.wishes.settings import Settings, read_settings
from img2plate.ui.worktable.work.voice import Stopped, Voice

HUGE = {"width": "142"}


def table_with(folder: Path, picture: Path) -> tuple[Table, str]:
    """A table without a page, and a project on it."""
    table = Table(folder, lambda _project, _event: None, warm=False)
    project = table.begin(picture.name)
    table.projects.source(project).write_bytes(picture.read_bytes())
    table.take_in(project)
    return table, project.id


def test_a_huge_plate_is_asked_about_before_any_bead_is_chosen(tmp_path: Path) -> None:
    picture = tmp_path / "anchor.png"
    Image.new("RGB", (50, 50), "navy").save(picture)
    table, project = table_with(tmp_path / "projects", picture)
    huge: Settings = {**HUGE, "source": "drawing"}
    table.choose(project, table.state(project)["version"], huge)
    hand = until(lambda: (h := table.state(project)["hand"])["state"] == "failed" and h)
    with pytest.raises(SizeError) as refused:  # as the command line asks
        draft_plate(picture, read_settings(huge), ask=lambda _: False)
    asked = str(refused.value).split(": nothing was made")[0]
    assert asked.startswith("20,164 beads, about ")
    assert hand["error"]["words"] == f"{asked}. Go on?"
    assert (hand["error"]["field"], hand["error"]["ask"]) == ("width", "yes")
    assert hand["facts"] is None
    table.again(project, huge, yes=False)
    until(lambda: table.state(project)["hand"]["state"] == "failed")
    table.again(project, huge, yes=True)
    made = until(lambda: table.state(project)["hand"]["facts"])
    assert made["beads"] == 20_164
    table.end()


@pytest.mark.parametrize("more", [{}, {"colours": "9"}, {"look": "calm", "without": ["klp"]}])
def test_a_search_shows_its_best_so_far_and_ends_the_same(more: Settings) -> None:
    options = read_settings({"width": "24", "shading": "search", **more})
    shown: list[Plate] = []
    plain = draft_plate(SAMPLES / "harbour.jpg", options).plate
    seen = draft_plate(SAMPLES / "harbour.jpg", options, so_far=shown.append).plate
    assert plain.cells.tobytes() == seen.cells.tobytes()
    assert len(shown) > 1
    off = [np.count_nonzero(each.cells != seen.cells) for each in shown]
    assert off[0] > off[-1]  # it comes nearer, and they are not all one array
    used = set(np.unique(seen.cells).tolist())
    assert set(np.unique(shown[-1].cells).tolist()) <= used | {-1} or not more


class Pipe:
    """What a task sends."""

    def __init__(self) -> None:
        self.sent: list[tuple[Any, ...]] = []

    def send(self, words: tuple[Any, ...]) -> None:
        self.sent.append(words)


def test_a_voice_is_not_too_loud_and_hears_a_stop() -> None:
    from threading import Event

    pipe, asked = Pipe(), Event()
    voice = Voice(pipe, asked)  # type: ignore[arg-type]
    assert voice.is_due()
    voice.show(b"one")
    assert not voice.is_due()
    voice("choosing beads", 0.5)
    asked.set()
    with pytest.raises(Stopped):
        voice("choosing beads", 0.6)
    assert [words[0] for words in pipe.sent] == ["so far", "progress"]


def test_a_plate_so_far_is_a_picture_until_it_is_made(tmp_path: Path) -> None:
    table, project = table_with(tmp_path / "projects", SAMPLES / "harbour.jpg")
    settings: Settings = {"width": "58", "shading": "search"}
    table.choose(project, table.state(project)["version"], settings)
    key = table.state(project)["hand"]["key"]

    def picture() -> bytes | None:
        try:
            return table.so_far(project, key)
        except KeyError:
            return None

    with Image.open(io.BytesIO(until(picture))) as image:
        assert image.size == (580, 440)
    assert table.state(project)["hand"]["seen"] >= 1
    table.stop(project, None)
    until(lambda: table.state(project)["hand"]["state"] == "stopped")
    assert picture() is None
    assert table.state(project)["hand"]["facts"] is None
    table.end()


class Visitor:
    """Asks a real server, with the cookie of its printed address."""

    def __init__(self, address: str) -> None:
        host, self.token = re.fullmatch(r"http://([^/]+)/open/(.+)", address).groups()  # type: ignore[union-attr]
        self.host, self.port = host, int(host.split(":")[1])

    def ask(self, method: str, path: str, body: bytes | None = None) -> tuple[int, bytes]:
        """Status and body of an answer, over a connection of its own."""
        link = HTTPConnection(self.host, timeout=120)
        cookie = f"worktable-{self.port}={self.token}"
        link.request(method, path, body, {"Cookie": cookie, "Origin": f"http://{self.host}"})
        answer: HTTPResponse = link.getresponse()
        data = answer.read()
        link.close()
        return answer.status, data


def family(pid: int) -> list[int]:
    """A process and all that it started, those that live."""
    found = subprocess.run(["ps", "-A", "-o", "pid=,ppid=,stat="], capture_output=True, text=True)
    rows = [line.split() for line in found.stdout.splitlines()]
    parents = {int(row[0]): int(row[1]) for row in rows if not row[2].startswith("Z")}
    ours = {pid}
    while more := {each for each, parent in parents.items() if parent in ours} - ours:
        ours |= more
    return sorted(ours & parents.keys())


def is_alive(pid: int) -> bool:
    """Whether a process runs; one that ended and was not waited for does not."""
    said = subprocess.run(["ps", "-o", "stat=", "-p", str(pid)], capture_output=True, text=True)
    return bool(said.stdout.strip()) and not said.stdout.startswith("Z")


def test_two_hundred_requests_at_once_are_all_answered(tmp_path: Path) -> None:
    """Reads and changes at once; then a picture that is far too large; nothing is left over."""
    import json

    with served(tmp_path) as (address, process):
        visitor = Visitor(address)
        status, body = visitor.ask(
            "POST", "/api/projects?name=anchor.png", (SAMPLES / "anchor.png").read_bytes()
        )
        assert status == 201
        at = f"/api/projects/{json.loads(body)['id']}"

        def state() -> dict[str, Any]:
            return dict(json.loads(visitor.ask("GET", at)[1]))

        def change(number: int) -> tuple[int, bytes]:
            version = state()["version"]
            words = {"version": version, "settings": {"spare_percent": str(number % 90)}}
            return visitor.ask("POST", f"{at}/settings", json.dumps(words).encode())

        begun = state()["version"]
        reads = [at, f"{at}/picture.png", "/api/start", "/api/form", f"{at}/picture"]

        def one(number: int) -> int:
            if number % 5 == 4:
                return change(number)[0]
            return visitor.ask("GET", reads[number % 5])[0]

        with ThreadPoolExecutor(200) as crowd:
            answers = Counter(crowd.map(one, range(200)))
        assert sum(answers.values()) == 200
        assert set(answers) <= {200, 409}, answers  # 409: another was faster
        after = state()
        assert after["version"] - begun == answers[200] - 160
        assert after["can_undo"]
        assert change(7)[0] == 200
        done = until(lambda: (s := state())["hand"]["facts"] and not s["proposing"] and s)
        assert done["settings"]["spare_percent"] == "7"
        before = memory_mb(process.pid)
        for _ in range(3):
            status, body = visitor.ask("POST", "/api/projects?name=boat.png", huge_picture())
            assert (status, b"megapixels" in body) == (400, True)
        assert memory_mb(process.pid) - before < 30
        until(lambda: not list(tmp_path.rglob(".new-*")))
        assert {path.name for path in tmp_path.iterdir()} == {at.split("/")[-1], "figures"}
        assert not [path for path in tmp_path.rglob("*") if path.suffix == ".tmp"]


def huge_picture() -> bytes:
    """A whole PNG of 60,000 x 60,000 pixels: few bytes, 3.6 thousand million pixels."""
    import struct
    import zlib

    def chunk(name: bytes, data: bytes) -> bytes:
        return (
            struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))
        )

    packer = zlib.compressobj(1)
    row = bytes(1 + 60000 // 8)
    packed = b"".join(packer.compress(row * 1000) for _ in range(60)) + packer.flush()
    head = struct.pack(">IIBBBBB", 60000, 60000, 1, 0, 0, 0, 0)
    parts = chunk(b"IHDR", head), chunk(b"IDAT", packed), chunk(b"IEND", b"")
    return b"\x89PNG\r\n\x1a\n" + b"".join(parts)


def memory_mb(pid: int) -> float:
    """What a process holds in memory."""
    said = subprocess.run(["ps", "-o", "rss=", "-p", str(pid)], capture_output=True, text=True)
    return int(said.stdout) / 1024


@pytest.mark.parametrize("way", some(signal.SIGKILL, long=[signal.SIGHUP]))
def test_no_worker_outlives_the_server(tmp_path: Path, way: signal.Signals) -> None:
    with served(tmp_path) as (address, process):
        visitor = Visitor(address)
        assert visitor.ask("POST", "/api/samples/harbour.jpg")[0] == 201  # a search is begun
        ours = until(lambda: (found := family(process.pid))[2:] and found)
        os.kill(process.pid, way)
        until(lambda: not any(map(is_alive, ours)))
        out, err = process.communicate(timeout=30)
        if way != signal.SIGKILL:
            assert (process.returncode, out, err) == (0, "", "")


@pytest.mark.browser
def test_the_page_shows_a_search_and_asks_before_a_huge_plate(chromium: Any, address: str) -> None:
    with browsing(chromium, address) as page:
        page.click("#samples button:has-text('harbour')")
        page.wait_for_url("**/p/*")
        go(page, "plate")
        page.get_by_label("beads wide").fill("140")  # long enough to be seen on its way
        page.keyboard.press("Enter")
        page.wait_for_selector("#near[src*='so-far.png']")
        page.get_by_label("beads wide").fill("200")
        page.keyboard.press("Enter")
        field = page.locator(".field:has-text('Beads wide')")
        field.locator("text=30,000 beads, about 33 hours of placing them. Go on?").wait_for()
        assert page.get_by_label("beads wide").get_attribute("aria-invalid") == "true"
        assert page.is_hidden("#making")
        field.locator("button:has-text('Make it anyway')").click()
        page.wait_for_selector("#making:visible")
        page.click("#making-stop")
        page.wait_for_selector("#hand-said:has-text('Stopped before it was ready')")
