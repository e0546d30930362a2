"""Plates and figures picked on the worktable: published, laid on boards, as the commands do."""

from __future__ import annotations

import re
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from support import SAMPLES
from worktable import browsing, drop, until

from img2plate.base.credit import Credit
from img2plate.base.errors import OptionError
from img2plate.base.lengths import Board, find_paper
from img2plate.pipeline import layout, publish
from img2plate.pipeline.options import PackOptions
from img2plate.ui.worktable.figures import Figures
from img2plate.ui.worktable.table import Table
from img2plate.ui.worktable.together import Together
from img2plate.ui.worktable.web.together import inert_policy
from img2plate.ui.worktable.wishes.figure import pack_key
from img2plate.ui.worktable.wishes.settings import key_of

HUT = """[figure]
name = "hut"
palette = "quay-24"
[[part]]
name = "hut"
size = [6, 5, 4]
colour = "oak"
"""
BEGIN_BOX = """fetch("/api/figures/box", { method: "POST", body: '{"size": [5, 5, 4]}' })"""
NAMES = ("puffin.png", "lighthouse.png")


def done(answer: dict[str, Any]) -> Any:
    """The answer, once it is the last one."""
    assert answer["state"] != "failed", answer
    return answer if answer["state"] == "done" else None


def failed(answer: dict[str, Any]) -> Any:
    """The answer, once it says why not."""
    return answer if answer["state"] == "failed" else None


@pytest.fixture(scope="module")
def two(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Table, list[str], list[Path]]]:
    """A table with two plates, and their packs."""
    table = Table(tmp_path_factory.mktemp("table"), lambda *_: None, warm=False)
    ids, packs = [], []
    for name in NAMES:
        project = table.begin(name)
        table.projects.source(project).write_bytes((SAMPLES / name).read_bytes())
        table.take_in(project)
        settings = {"width": "20", "paper": "Letter", "author": "Maja Holm"}
        table.choose(project.id, table.projects.load(project.id).version, settings)
        ids.append(project.id)
    for each in ids:
        until(lambda each=each: done(table.state(each)["hand"]))
        table.write_pack(each)
        project = table.projects.load(each)
        out = table.projects.pack(each, key_of(project.settings))
        until(lambda out=out: any(out.glob("*.zip")))
        packs.append(out / project.name)
    yield table, ids, packs
    table.end()


def of(table: Table) -> Together:
    return Together(table, Figures(table, lambda *_: None))


def made(together: Together, what: str, ids: list[str], words: dict[str, Any]) -> tuple[str, Any]:
    key = together.begin(what, ids, words)["key"]
    return key, until(lambda: done(together.state(key)))["about"]


def same_files(one: Path, other: Path) -> list[str]:
    """Names of all files of two folders, when they are the same byte by byte."""
    names = sorted(p.relative_to(one).as_posix() for p in one.rglob("*") if p.is_file())
    assert names == sorted(p.relative_to(other).as_posix() for p in other.rglob("*") if p.is_file())
    for name in names:
        assert (one / name).read_bytes() == (other / name).read_bytes(), name
    return names


def test_pages_are_those_of_the_command(
    two: tuple[Table, list[str], list[Path]], tmp_path: Path
) -> None:
    table, ids, packs = two
    together = of(table)
    address = "https://harbour.example/patterns/"
    words = {"title": "Harbour shop", "licence": "cc-by-4.0", "text": "All *our* plates.",
             "address": address}  # fmt: skip
    key, about = made(together, "publish", ids, words)
    (tmp_path / "text.md").write_text("All *our* plates.", encoding="utf-8")
    credit = Credit("Harbour shop", "", "CC-BY-4.0")
    publish.run(
        packs, publish.PublishOptions(credit, tmp_path / "text.md", address, tmp_path / "site")
    )
    names = same_files(together.file(key, "patterns/index.html").parent, tmp_path / "site")
    assert len(names) > 12
    assert [each["title"] for each in about["patterns"]] == ["Puffin", "Lighthouse"]
    assert about["patterns"][0]["author"] == "Maja Holm"
    assert together.file(key, "patterns.zip").stat().st_size > 10_000
    for path in ("../../project.json", "/etc/hostname", "patterns/../../x"):
        with pytest.raises(KeyError):
            together.file(key, path)


def test_a_figure_is_published_beside_a_plate_each_with_words_of_its_own(
    two: tuple[Table, list[str], list[Path]], tmp_path: Path
) -> None:
    table, ids, packs = two
    figures = Figures(table, lambda *_: None)
    figure = figures.begin("hut.toml", HUT)
    together, pick = Together(table, figures), f"f/{figure}"
    assert together.begin("publish", [ids[0], pick], {})["words"] == "hut is being made first"
    until(lambda: done(figures.built.state(figures.projects.load(figure))))
    said = {ids[0]: "On the *puffin*.", pick: "On the hut."}
    key, about = made(together, "publish", [ids[0], pick], {"author": "Maja Holm", "texts": said})
    figures.built.write_pack(figure)
    out = figures.projects.pack(figure, pack_key(figures.projects.load(figure).settings))
    until(lambda: any(out.glob("*.zip")))
    for number, (pack, text) in enumerate(zip((packs[0], out / "hut"), said.values(), strict=True)):
        shutil.copytree(pack, tmp_path / str(number))
        (tmp_path / str(number) / "text.md").write_text(text, encoding="utf-8")
    wish = publish.PublishOptions(Credit("", "Maja Holm"), out=tmp_path / "site")
    publish.run([tmp_path / "0", tmp_path / "1"], wish)
    names = same_files(together.file(key, "patterns/index.html").parent, tmp_path / "site")
    assert {"hut/assembled.png", "puffin/plate.png"} <= set(names)
    assert [each["title"] for each in about["patterns"]] == ["Puffin", "Hut"]
    assert together.picked([pick, "f/" + "0" * 16, ids[0]])[0]["is_figure"]
    with pytest.raises(OptionError, match="hut is a figure"):
        together.begin("layout", [ids[0], pick], {})
    figures.write(figure, figures.projects.load(figure).version, "[figure]", joined=False)
    until(lambda: failed(figures.built.state(figures.projects.load(figure))))
    with pytest.raises(OptionError, match="hut cannot be built; open it to see why"):
        together.begin("publish", [pick], {})


def test_boards_are_those_of_the_command(
    two: tuple[Table, list[str], list[Path]], tmp_path: Path
) -> None:
    table, ids, packs = two
    together = of(table)
    words = {"board": "29x29", "across": "2", "down": "1", "gap": "2", "turn": True, "paper": "A3"}
    key, about = made(together, "layout", ids, words)
    wishes = layout.LayoutOptions((2, 1), 2)
    done = layout.run(
        [pack / "plate.png" for pack in packs],
        wishes,
        PackOptions(out=tmp_path, board=Board(29, 29), zip=True, paper=find_paper("A3")),
    )
    same_files(together.file(key, "layout/plate.png").parent, done.pack.folder)
    assert about["sets"] == done.layout.sets == 1
    assert [each["name"] for each in about["layout"]] == ["puffin", "lighthouse"]


@pytest.mark.parametrize(
    ("what", "words", "said"),
    [
        ("publish", {"licence": "mine"}, "SPDX"),
        ("publish", {"text": "x" * 50_000}, "letters"),
        ("layout", {"across": "many"}, "number"),
        ("layout", {"gap": "-1"}, "0 to"),
        ("layout", {"paper": "B7"}, "none of"),
        ("layout", {"board": "0x9"}, "two whole numbers"),
    ],
)
def test_what_cannot_be_is_refused_at_once(
    two: tuple[Table, list[str], list[Path]], what: str, words: dict[str, Any], said: str
) -> None:
    table, ids, _ = two
    with pytest.raises(OptionError, match=said):
        of(table).begin(what, ids, words)
    with pytest.raises(OptionError, match="pick 1"):
        of(table).begin("publish", [], {})
    with pytest.raises(KeyError):
        of(table).begin("publish", ["0" * 16], {})


def test_a_plate_larger_than_the_boards_is_named(
    two: tuple[Table, list[str], list[Path]],
) -> None:
    table, ids, _ = two
    together = of(table)
    key = together.begin("layout", ids, {"board": "9x9"})["key"]
    state = until(lambda: failed(together.state(key)))
    assert "puffin" in state["error"]["words"]


def test_no_script_runs_in_the_frame() -> None:
    policy = dict(part.split(" ", 1) for part in inert_policy().split("; "))
    assert policy["default-src"] == "'none'"
    assert not {"script-src", "connect-src"} & set(policy)
    assert policy["form-action"] == "'none'"


@pytest.mark.browser
def test_plates_are_picked_published_and_laid_out(chromium: Any, address: str) -> None:
    from axe_playwright_python.sync_playwright import Axe

    with browsing(chromium, address, viewport={"width": 390, "height": 844}) as page:
        drop(page, SAMPLES / "puffin.png")
        page.evaluate(
            """fetch("/api/figures/box", { method: "POST", body: '{"size": [5, 5, 4]}' })"""
        )
        page.goto(address.split("/open/")[0] + "/")
        page.focus("#projects li:has-text('puffin') .pick input >> nth=0")
        page.keyboard.press("Space")
        page.check("#projects li:has(a[href^='/f/']) .pick input >> nth=0")
        page.wait_for_selector("#picked-words:has-text('1 plate and 1 figure picked.')")
        page.click("#picked-go")
        page.wait_for_selector("#plates li:has-text('box')")
        assert page.is_visible("#layout-not")
        page.click("#each summary")
        page.fill("#each-words label:has-text('On box') textarea", "Of *oak*.")
        page.reload()
        page.wait_for_selector("#plates li:has-text('puffin')")
        page.wait_for_selector("body[data-pending='0']")
        page.click("#each summary")
        assert page.input_value("#each-words label:has-text('On box') textarea") == "Of *oak*."
        assert page.evaluate("document.documentElement.scrollWidth") <= 390
        page.click("[aria-label='Leave out box']")
        assert not page.is_visible("#layout-not")
        page.fill("#publish [name=licence]", "mine")
        page.click("#publish .main")
        page.wait_for_selector("#publish-said:has-text('SPDX')")
        page.fill("#publish [name=licence]", "CC-BY-4.0")
        page.fill("#publish [name=text]", "<script>alert(1)</script> [out](https://example.org/)")
        page.click("#publish .main")
        page.wait_for_selector("#pages:visible")
        frame = page.frame_locator("#pages-frame")
        frame.locator("h1").first.wait_for()
        assert re.search("puffin", frame.locator("body").inner_text(), re.IGNORECASE)
        page.click("#layout .main")
        page.wait_for_selector("#layout-said:has-text('puffin')")  # larger than a board
        page.fill("#layout [name=across]", "2")
        page.fill("#layout [name=down]", "2")
        page.click("#layout .main")
        page.wait_for_selector("#laid-notes li >> nth=0")
        page.reload()
        page.wait_for_selector("#plates li:has-text('puffin')")
        assert page.input_value("#publish [name=licence]") == "CC-BY-4.0"
        assert page.input_value("#layout [name=across]") == "2"
        page.wait_for_selector("body[data-pending='0']")
        assert page.evaluate("document.documentElement.scrollWidth") <= 390
        page.click("#publish .main")
        page.click("#layout .main")
        page.wait_for_selector("#laid:visible")
        page.wait_for_selector("#pages:visible")
        page.wait_for_selector("body[data-pending='0']")
        assert page.evaluate("document.documentElement.scrollWidth") <= 390
        found = Axe().run(page, options={"iframes": False})
        assert not found.response["violations"], found.generate_report()
