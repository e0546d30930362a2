"""Figures on the worktable: their text, what is drawn of it, faces by hand, the pack."""

from __future__ import annotations

import base64
import contextlib
import io
import re
import zipfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from command import good, run
from conftest import CHROMIUM, QUIET
from starlette.testclient import TestClient
from support import SAMPLES
from worktable import browsing, until

from img2plate.solid.box.build import build
from img2plate.solid.file.figure_file import read_figure
from img2plate.ui.worktable.web import app as page
from img2plate.ui.worktable.web.sheets import digest
from img2plate.ui.worktable.work.figure_facts import facts_of

HOST = "127.0.0.1:8417"
LAMP = SAMPLES / "figures" / "harbour-lamp.toml"
BOX = """[figure]
name = "box"
palette = "quay-24"

[[part]]
name = "box"
size = [8, 7, 6]
colour = "prt"
"""


@pytest.fixture(scope="module")
def table(tmp_path_factory: pytest.TempPathFactory) -> Iterator[TestClient]:
    """As the browser that opened the printed address."""
    folder = tmp_path_factory.mktemp("projects")
    app, _ = page.build(folder, port=8417, token="lamp-room", warm=False)
    with TestClient(app, base_url=f"http://{HOST}", follow_redirects=False) as client:
        client.get("/open/lamp-room")
        client.headers["origin"] = f"http://{HOST}"
        yield client


def begun(table: TestClient, text: str, name: str = "box.toml") -> str:
    answer = table.post("/api/figures", params={"name": name}, content=text.encode())
    assert answer.status_code == 201, answer.text
    return f"/api/figures/{answer.json()['id']}"


def state(table: TestClient, at: str, *, what: str = "made") -> dict[str, Any]:
    """The figure once nothing is on its way any more."""

    def settled() -> dict[str, Any] | None:
        found: dict[str, Any] = table.get(at).json()
        return None if found[what]["state"] in ("waiting", "working") else found

    return until(settled)


def change(table: TestClient, at: str, what: str, words: dict[str, Any]) -> Any:
    seen = table.get(at).json()["version"]
    return table.post(f"{at}/{what}", json={"version": seen, **words})


def write(table: TestClient, at: str, text: str) -> dict[str, Any]:
    assert change(table, at, "text", {"text": text}).status_code == 200
    return state(table, at)


def test_errors_stand_at_their_line_in_the_words_of_the_command(
    table: TestClient, tmp_path: Path
) -> None:
    at = begun(table, BOX)
    drawn = state(table, at)["drawn"]
    for text, line in (
        (BOX.replace("prt", "portred"), 8),
        (BOX + "[[part.opening]]\nface = 'front'\nbeads = [40, 3]\n", 9),
        (BOX.replace("[8, 7", "[8, 7\n\n[["), 9),
        (BOX + "\nfaces.front = '../../../etc/passwd.png'\n", 10),
    ):
        now = write(table, at, text)
        assert now["made"]["state"] == "failed"
        assert int(now["made"]["error"]["line"]) == line
        assert now["drawn"] == drawn  # what was drawn last stays
        words = now["made"]["error"]["words"]
        (tmp_path / "box.toml").write_text(text)
        if "passwd" not in text:
            told = run("figure", tmp_path / "box.toml", "--out", tmp_path).stderr
            assert words in told.replace(f"{tmp_path}/", "")
    assert table.get(at).json()["missing"] == [{"name": "../../../etc/passwd.png", "line": 10}]
    assert write(table, at, BOX)["made"]["state"] == "done"


@pytest.mark.parametrize("name", ["harbour-lamp", "trawler-box", "boathouse"])
def test_what_is_drawn_has_exactly_the_beads_of_the_figure(name: str) -> None:
    figure = build(read_figure(SAMPLES / "figures" / f"{name}.toml"))
    facts = facts_of(figure)
    assert facts["beads"] == figure.bead_count
    for plate, piece in zip(facts["plates"], figure.pieces, strict=True):
        width, height = plate["size"]
        cells = np.frombuffer(base64.b64decode(plate["cells"]), "<i2").reshape(height, width)
        rows, columns = np.nonzero(cells >= 0)
        origin, across, down = (np.array(plate[key]) for key in ("origin", "across", "down"))
        places = origin + columns[:, None] * across + rows[:, None] * down
        assert np.allclose(places + 0.5, piece.in_figure(piece.voxels + 0.5), atol=1e-4)
        assert np.array_equal(cells[rows, columns], piece.plate.cells[piece.plate.filled])
        turned = np.cross(across, down)  # right, then down, looks into the plate
        assert np.allclose(turned, -np.array(plate["outward"]), atol=1e-5) or piece.role == "strip"
    # After all steps everything is there, and each step adds what comes.
    last = facts["steps"][-1]
    assert {*last["there"], *last["coming"]} == set(range(len(figure.pieces)))
    assert any(fit["mm"] == facts["thickness_mm"] and fit["verdict"] == "holds"
               for fit in facts["fits"])  # fmt: skip


def test_the_pack_and_the_description_are_those_of_the_command(
    table: TestClient, tmp_path: Path
) -> None:
    text = (
        BOX.replace("[8,", "[9,") + "faces.front = 'lamp-cap.png'\n[colourway.night]\nprt = 'tar'\n"
    )
    at = begun(table, text)
    assert [each["name"] for each in state(table, at)["missing"]] == ["lamp-cap.png"]
    picture = LAMP.with_name("lamp-cap.png").read_bytes()
    for name in ("lamp-cap.png", "not-named.png"):
        table.post(f"{at}/files?name={name}", content=picture)
    change(table, at, "choose", {"colourway": "night", "paper": "Letter"})
    assert state(table, at)["command"] == (
        "img2plate figure box.toml --colourway night --paper Letter"
    )
    change(table, at, "pack", {})
    pack = state(table, at, what="pack")["pack"]
    ours = table.get(f"{at}/packs/{pack['key']}/box-night.zip")
    files = zipfile.ZipFile(io.BytesIO(ours.content))
    source = zipfile.ZipFile(io.BytesIO(table.get(f"{at}/description.zip").content))
    source.extractall(tmp_path)
    assert sorted(source.namelist()) == ["box/box.toml", "box/lamp-cap.png"]
    path = tmp_path / "box" / "box.toml"
    assert path.read_text() == text
    good("figure", path, "--colourway", "night", "--paper", "Letter", "--out", tmp_path / "packs")
    theirs = tmp_path / "packs"
    assert sorted(files.namelist()) == sorted(
        path.relative_to(theirs).as_posix() for path in theirs.rglob("*") if path.is_file()
    )
    for name in files.namelist():
        assert files.read(name) == (theirs / name).read_bytes(), name
    # The page to follow opens under a policy that names its scripts, and only those.
    follow = table.get(f"/f/{at.rpartition('/')[2]}/follow/{pack['key']}")
    assert follow.content == files.read("box-night/follow.html")
    scripts = re.findall(r"<script>(.*?)</script>", follow.text, re.DOTALL)
    assert len(scripts) == 2
    policy = follow.headers["content-security-policy"]
    assert all(digest(script) in policy for script in scripts)
    assert table.get(f"/f/{at.rpartition('/')[2]}/follow/{'0' * 16}").status_code == 404


def test_a_face_touched_by_hand_comes_back_and_is_undone(table: TestClient, tmp_path: Path) -> None:
    at = begun(table, BOX)
    before = state(table, at)
    cells = table.get(f"{at}/faces/0/front/cells").json()
    assert cells["size"] == [8, 6]
    # Two strokes at once: the second does not wait for the figure with the first one.
    for start in (0, 17):
        answer = change(table, at, "faces/0/front/touch", {"cells": {"gul": [start, 2]}})
        assert answer.status_code == 200, answer.text
    now = state(table, at)
    assert 'faces.front = { plate = "box-front-by-hand.png" }' in now["text"]
    assert now["files"] == ["box-front-by-hand.png"]
    zipfile.ZipFile(io.BytesIO(table.get(f"{at}/description.zip").content)).extractall(tmp_path)
    spec = read_figure(tmp_path / "box" / "box.toml")
    gulls = spec.palette.by_code["gul"]
    assert np.flatnonzero(spec.parts[0].cells["front"] == gulls).tolist() == [0, 1, 17, 18]
    change(table, at, "undo", {})
    change(table, at, "undo", {})
    assert state(table, at)["text"] == before["text"]
    stale = table.post(f"{at}/text", json={"version": 1, "text": "x"})
    assert stale.status_code == 409
    change(table, at, "redo", {})
    assert "by-hand" in table.get(at).json()["text"]
    # The thickness is written where it belongs, and nothing else changes.
    change(table, at, "undo", {})
    change(table, at, "press", {"mm": 3.5})
    assert table.get(at).json()["text"] == BOX.replace(
        'palette = "quay-24"\n', 'palette = "quay-24"\nthickness = 3.5\n'
    )


def test_faces_of_parts_that_are_said_once(table: TestClient) -> None:
    legs = '[[part]]\nname = "leg"\nsize = [4, 4, 5]\ncolour = "prt"\nloose = true\n'
    legs += "at = [[20, 0, 0], [30, 0, 0]]\n"
    like = '[[part]]\nname = "hut"\nlike = "box"\nat = [40, 0, 0]\nloose = true\n'
    at = begun(table, BOX + "faces.sides = 'gul'\n" + legs + like)
    now = state(table, at)
    assert now["made"]["state"] == "done", now["made"]
    facts = table.get(f"{at}/made/{now['drawn']}/figure.json").json()
    faces = {plate["name"]: plate["face"] for plate in facts["plates"]}
    assert faces["box front"] == [0, "front"]
    assert faces["leg 1 front"] is None
    assert faces["hut left"] == [2, "left"]
    change(table, at, "faces/2/left/touch", {"cells": {"tar": [0, 1]}})
    now = state(table, at)
    assert now["made"]["state"] == "done", now["made"]
    assert now["text"].endswith('faces.left = { plate = "hut-left-by-hand.png" }\n')
    assert table.get(f"{at}/faces/1/front/cells").status_code == 404


def test_what_nobody_waits_for_any_more_is_not_built(table: TestClient) -> None:
    many = "".join(
        f'[[part]]\nname = "p{n}"\nsize = [12, 12, 12]\ncolour = "prt"\nat = [{14 * n}, 0, 0]\n'
        "loose = true\n"
        for n in range(30)
    )
    at = begun(table, BOX.partition("[[")[0] + many)
    slow = table.get(at).json()["made"]["key"]
    assert write(table, at, BOX)["made"]["state"] == "done"
    assert table.get(f"{at}/made/{slow}/figure.json").status_code == 404
    change(table, at, "undo", {})
    now = state(table, at)  # wanted again, it is built after all
    assert (now["made"]["state"], now["made"]["key"]) == ("done", slow)


def test_a_stretch_of_typing_is_one_step(table: TestClient) -> None:
    at = begun(table, BOX)
    for number, joined in ((1, False), (2, True), (3, True)):
        text = BOX + f"# {number}\n"
        change(table, at, "text", {"text": text, "joined": joined})
    change(table, at, "undo", {})
    now = table.get(at).json()
    assert now["text"] == BOX
    assert not now["can_undo"]


@pytest.mark.parametrize(
    "text",
    [
        BOX.replace('"box"', '"<img src=x onerror=alert(1)>"', 1) + "x = 1\n",
        "x = " + "[" * 20_000,
        BOX.replace('"prt"', '"' + "p" * 900_000 + '"'),
        BOX.replace("[8, 7, 6]", "[200, 200, 200]"),
        "".join(BOX.partition("[[")[0] + f'[[part]]\nname = "p{n}"\nsize = [9, 9, 9]\n'
                for n in range(1)) + "".join(
            f'[[part]]\nname = "q{n}"\nsize = [9, 9, 9]\ncolour = "prt"\nat = [{10 * n}, 0, 0]\n'
            for n in range(99)),
        BOX.replace('"quay-24"', '"/etc/passwd"'),
        "\0",
        "",
    ],
    ids=lambda text: f"{len(text)} letters",
)  # fmt: skip
def test_a_hostile_description_is_one_line(table: TestClient, text: str) -> None:
    now = state(table, begun(table, text))
    assert now["made"]["state"] == "failed"
    words = now["made"]["error"]["words"]
    assert 0 < len(words) < 500
    assert "\n" not in words
    assert "root:" not in words


def test_what_is_no_figure_is_refused(table: TestClient) -> None:
    assert table.post("/api/figures?name=a.toml", content=b"\xff\xfe").status_code == 400
    assert table.post("/api/figures?name=a.toml", content=b"#" * 1_000_001).status_code == 413
    for size in ([2, 9, 9], [61, 9, 9], [3, 3, 3], "box", [4.5, 9, 9]):
        assert table.post("/api/figures/box", json={"size": size}).status_code == 400
    at = begun(table, BOX)
    assert change(table, at, "text", {"text": "#" * 1_000_001}).status_code == 400
    assert table.post(f"{at}/files?name=a.exe", content=b"x").status_code == 400
    assert table.post(f"{at}/files?name=..%2F..%2Fa.png", content=b"x").json()["files"] == ["a.png"]
    for address in (f"{at}/made/{'0' * 16}/figure.json", f"{at}/faces/7/front/cells",
                    f"{at}/packs/{'0' * 16}/box.zip", "/api/figures/0123456789abcdef"):  # fmt: skip
        assert table.get(address).status_code in (404, 200)
        assert b"cells" not in table.get(address).content
    assert table.delete(at).status_code == 204
    assert table.get(at).status_code == 404


def painted(page: Any) -> bytes:
    """The canvas as it looks, once it stands still."""
    page.evaluate("document.activeElement.blur(), scrollTo(0, 0)")
    page.wait_for_selector("body[data-pending='0'][data-still='yes']")
    return bytes(page.locator("#solid-canvas").screenshot())


def drawn(page: Any, name: str) -> None:
    """Begin with one of ours, and wait for its drawing."""
    page.click(f"#figure-samples button:has-text('{name}')")
    page.wait_for_url("**/f/*")
    page.wait_for_selector("body[data-drawn]")


def fingers(page: Any, begin: list[tuple[int, int]], end: list[tuple[int, int]]) -> None:
    """Fingers put on the drawing, moved and lifted; from its left, and below its middle."""
    box = page.locator("#solid-canvas").bounding_box()
    remote = page.context.new_cdp_session(page)
    for kind, places in (("touchStart", begin), ("touchMove", end), ("touchEnd", [])):
        points = [
            {"x": box["x"] + x, "y": box["y"] + box["height"] / 2 + y, "id": number}
            for number, (x, y) in enumerate(places)
        ]
        remote.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})


VALUE = "(words) => document.getElementById('text-area').value.includes(words)"
WIDTH = "() => document.getElementById('solid-picture').naturalWidth"


HIT = """async (plates) => {
  const { View, hit, project } = await import("/static/figure/view.js");
  const view = new View(), shift = [1, 2, 3], thick = 0.8;
  view.by(15, 10);
  const seen = view.seen({ centre: [8, 11, 15], radius: 25 }, 900, 700);
  const whole = plates.map((plate) => ({ ...plate, cells: Array(999).fill(0) }));
  return whole.map(({ origin, across, down, outward }, number) => {
    const on = (i) => 0.5 + 3 * across[i] + 5 * down[i] + thick / 2 * outward[i];
    const [x, y] = project(seen, origin.map((side, i) => side + shift[i] + on(i)));
    return hit(seen, whole, (other) => other === number ? { shift, thick } : null, x, y);
  });
}"""
"""Of sloping plates moved off: which bead lies under the point where their bead (3, 5) is seen."""


@pytest.mark.browser
def test_a_figure_by_mouse_and_keys(chromium: Any, address: str) -> None:
    with browsing(chromium, address, viewport={"width": 1280, "height": 900}) as page:
        roofed = facts_of(build(read_figure(SAMPLES / "figures" / "boathouse.toml")))
        roof = [plate for plate in roofed["plates"] if plate["role"] == "roof"]
        assert page.evaluate(HIT, roof) == [[0, 3, 5], [1, 3, 5]]
        drawn(page, "lamp")
        first = painted(page)
        box = page.locator("#solid-canvas").bounding_box()
        middle = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
        page.mouse.move(*middle)
        page.mouse.down()
        page.mouse.move(middle[0] + 90, middle[1] + 20, steps=3)
        page.mouse.up()
        page.wait_for_selector("#solid-at:has-text('Seen from the front, from')")
        assert painted(page) != first
        page.focus("#solid-canvas")
        for key in ("ArrowRight", "ArrowRight", "ArrowRight"):
            page.keyboard.press(key)
        page.wait_for_selector("#solid-at:has-text('the front and the left')")
        page.keyboard.press("Home")
        page.wait_for_selector("#solid-at:has-text('the front and the right')")
        assert painted(page) == first
        # Break the text, see the line, mend it.
        text = page.input_value("#text-area")
        page.fill("#text-area", text.replace("size = [19, 19, 4]", 'size = [19, 19, "four"]'))
        page.wait_for_selector("#text-said.said:has-text('key size')")
        assert page.inner_text("#text-numbers b") == "15"
        assert page.is_visible("#solid-old")
        assert page.get_attribute("#text-area", "aria-invalid") == "true"
        page.click("#text-go")
        assert page.evaluate("document.activeElement.id") == "text-area"
        page.keyboard.press("Tab")
        assert page.evaluate("document.activeElement.id") != "text-area"
        page.fill("#text-area", text)
        page.wait_for_selector("#solid-old", state="hidden")
        assert painted(page) == first
        # Apart, together again step by step, in other colours, pressed thinner.
        page.focus("#pull")
        page.keyboard.press("End")
        page.wait_for_selector("#solid-at:has-text('pulled apart by 100 %')")
        apart = painted(page)
        assert apart != first
        page.click("#step-next")
        page.click("#step-next")
        page.wait_for_selector("#step-words:has-text('Step 2 of 36: foot')")
        page.wait_for_selector("#solid-at:has-text('at step 2')")
        assert painted(page) not in (first, apart)
        page.click("#step-all")
        page.select_option("#colourway", "night")
        page.wait_for_selector("#command:text-matches('--colourway night')", state="attached")
        page.wait_for_selector("body[data-made='done']")
        assert page.inner_text("#press-verdict") == "4 mm: holds"
        page.focus("#press")
        for _ in range(10):
            page.keyboard.press("ArrowLeft")
        page.wait_for_selector("#press-verdict:has-text('3 mm: tight')")
        page.click("#press-keep")
        page.wait_for_function(VALUE, arg="thickness = 3.0 ")
        page.wait_for_selector("body[data-made='done']")
        page.reload()
        page.wait_for_selector("#press-verdict:has-text('3 mm: tight')")
        page.keyboard.press("Control+z")
        page.wait_for_selector("#press-verdict:has-text('4 mm: holds')")


@pytest.mark.browser
def test_a_face_by_hand_on_a_phone_by_touch(chromium: Any, address: str) -> None:
    from axe_playwright_python.sync_playwright import Axe

    how = {"viewport": {"width": 390, "height": 844}, "has_touch": True, "bypass_csp": True}
    with browsing(chromium, address, **how) as page:
        for name, beads in (("wide", 9), ("deep", 8), ("high", 7)):
            page.fill(f"#box [name={name}]", str(beads))
        page.tap("#box button")
        page.wait_for_url("**/f/*")
        page.wait_for_selector("body[data-drawn]")
        first = painted(page)
        fingers(page, [(150, 0)], [(230, 10)])
        page.wait_for_selector("#solid-at:has-text('Seen from the front, from')")
        turned = painted(page)
        assert turned != first
        fingers(page, [(150, 0), (190, 0)], [(120, 0), (230, 0)])
        assert painted(page) != turned
        page.click("#solid-home")
        page.wait_for_selector("#solid-at:has-text('Seen from the front and the right')")
        page.locator("#solid-canvas").tap()
        page.wait_for_selector("#chosen-hand:visible")
        page.select_option("#chosen", label="1  box front")
        page.tap("#chosen-hand")
        page.wait_for_selector("#hand-numbers:has-text('63')")
        page.tap(".of-hand:has-text('port red') >> nth=0")
        page.locator("#hand-canvas").tap()
        page.wait_for_selector("body[data-pending='0'][data-made='done']")
        page.tap("#strip a[href='#text']")
        assert 'faces.front = { plate = "box-front-by-hand.png" }' in page.input_value("#text-area")
        page.tap("#strip a[href='#drawing']")
        page.select_option("#chosen", "-1")
        page.wait_for_selector("#drawing-facts:has-text('in 3 colours')")
        assert painted(page) != first
        screens = []
        for link in page.locator("#strip a").all():
            link.click()
            for scheme in ("light", "dark"):
                page.emulate_media(color_scheme=scheme)
                screens.append(Axe().run(page))
            assert page.evaluate("document.documentElement.scrollWidth") <= 390
        page.set_viewport_size({"width": 1400, "height": 900})
        screens.append(Axe().run(page))
    for found in screens:
        assert found.violations_count == 0, found.generate_report()


@pytest.mark.browser
def test_without_webgl_there_are_the_pictures_of_the_pack(chromium: Any, address: str) -> None:
    """A browser of its own, as started without a graphics card."""
    how = {"executable_path": CHROMIUM, "args": [*QUIET, "--disable-3d-apis"]}
    plain = chromium.browser_type.launch(**how)
    with contextlib.closing(plain), browsing(plain, address) as page:
        page.click("#box button")
        page.wait_for_url("**/f/*")
        for act, name, words in (
            (lambda: None, "assembled", "together"),
            (lambda: page.fill("#pull", "50"), "exploded", "pulled apart"),
            (lambda: page.click("#step-next"), "1", "at step 1"),
        ):
            act()
            page.wait_for_selector(f"#solid-picture[src$='/{name}.png'][alt*='{words}']")
            page.wait_for_function(WIDTH)
        assert page.is_hidden("#solid-canvas")
