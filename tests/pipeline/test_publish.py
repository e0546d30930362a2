"""Published pages: what they say, what they never ask for, and what of an older folder stays."""

from __future__ import annotations

import csv
import hashlib
import json
import re
import shutil
import zipfile
from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from command import good, one_line, run
from support import make_palette, make_plate

from img2plate.base.credit import Credit
from img2plate.base.errors import OutputError
from img2plate.base.slugs import slug
from img2plate.pipeline import publish
from img2plate.pipeline.laid import laid_as
from img2plate.pipeline.options import PackOptions
from img2plate.pipeline.publish import PublishOptions
from img2plate.plate.document import read_plate, write_plate
from img2plate.plate.plate import Plate
from img2plate.tally.level import LIMITS, WORDS, Level

HOSTILE = '../..</title><script>alert(1)</script>"\n\u202e' + "é" * 10_000
WORDS_MD = """# About
<script>alert(1)</script>
![x](https://elsewhere.example/x.png) [bad](javascript:alert(1)) [shop](https://museum.example/)
###### Deep
"""


class Page(HTMLParser):
    """What a page asks a browser to load, and what it holds."""

    def __init__(self, path: Path) -> None:
        super().__init__()
        self.loads: list[str] = []
        self.tags: list[str] = []
        self.meta: dict[str, str] = {}
        self.text = path.read_text(encoding="utf-8")
        self.feed(self.text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        found = {name: value or "" for name, value in attrs}
        self.tags.append(tag)
        if tag in ("img", "script", "source", "iframe") and "src" in found:
            self.loads.append(found["src"])
        if tag == "link" and found.get("rel") != "canonical":
            self.loads.append(found["href"])
        if tag == "meta" and "property" in found:
            self.meta[found["property"]] = found["content"]

    @property
    def how_to(self) -> Any:
        found = re.search(r'<script type="application/ld\+json">(.*?)</script>', self.text, re.S)
        assert found
        return json.loads(found[1])


def pack(folder: Path, name: str, plate: Plate | None = None, **how: Any) -> Path:
    plate = replace(plate or make_plate(12, 9, colours=4), name=name, **how)
    folder.mkdir(parents=True)
    write_plate(folder / "plate.png", plate)
    return folder


@pytest.fixture
def packs(tmp_path: Path) -> list[Path]:
    """Two packs, one laid out otherwise, with words."""
    other = PackOptions(front="board-side", spare_percent=20.0)
    gull = pack(tmp_path / "a", "gull", laid=laid_as(other), credit=Credit("Grey gull", "Ole", ""))
    (gull / "text.md").write_text(WORDS_MD, encoding="utf-8")
    return [gull, pack(tmp_path / "b", "anchor_small")]


def test_a_pattern_says_what_its_plate_is(packs: list[Path], tmp_path: Path) -> None:
    site = tmp_path / "site"
    done = good("publish", *packs, "--licence", "cc-by-4.0", "--title", "Museum <shop>",
                "--address", "https://museum.example/p", "--out", site, "--json")  # fmt: skip
    assert [p["folder"] for p in json.loads(done.stdout)["patterns"]] == ["gull", "anchor-small"]
    page, plate = Page(site / "gull" / "index.html"), read_plate(packs[0] / "plate.png")
    assert f"<dd>{plate.bead_count:,}</dd>" in page.text
    assert "6 x 4.5 cm" in page.text
    assert "by <bdi>Ole</bdi>" in page.text
    assert "The front, the side that will be seen, faces down" in page.text
    assert "With 20 % spare" in page.text
    for bead, amount in zip(plate.palette.beads, plate.counts().tolist(), strict=True):
        assert (f'<td>{bead.code}</td><td class="number">{amount:,}</td>' in page.text) == (
            amount > 0
        )
    assert page.meta["og:url"] == "https://museum.example/p/gull/"
    assert page.meta["og:image"] == "https://museum.example/p/gull/shared.jpg"
    assert {"og:title", "og:type", "og:description"} <= page.meta.keys()
    front = Page(site / "index.html")
    assert "<title>Museum &lt;shop&gt;</title>" in front.text
    assert "Grey gull" in front.text
    assert "Anchor small" in front.text
    # What is downloaded is signed, and belongs together.
    with zipfile.ZipFile(site / "gull" / "gull.zip") as archive:
        for name in archive.namelist():
            assert archive.read(name) == (site / name).read_bytes()
    signed = read_plate(site / "gull" / "plate.png")
    assert signed.credit == Credit("Grey gull", "Ole", "CC-BY-4.0")
    assert (signed.cells == plate.cells).all()


def test_how_to_keeps_to_the_vocabulary(packs: list[Path], tmp_path: Path) -> None:
    rows = (Path(__file__).parents[1] / "data" / "schema-org-howto.csv").read_text().splitlines()
    known = {(row["type"], row["property"]) for row in csv.DictReader(rows[1:])}
    publish.run(packs[:1], PublishOptions(Credit("", "", "MIT"), out=tmp_path / "site"))
    data = Page(tmp_path / "site" / "gull" / "index.html").how_to

    def check(node: Any) -> int:
        if isinstance(node, list):
            return sum(map(check, node))
        if not isinstance(node, dict):
            return 0
        for name in node.keys() - {"@context", "@type"}:
            assert (node["@type"], name) in known
        return 1 + sum(map(check, node.values()))

    assert check(data) > 10
    plate = read_plate(packs[0] / "plate.png")
    wanted = sum(-(-n * 6 // 5) for n in plate.counts().tolist())  # 20 % spare
    assert sum(supply["requiredQuantity"] for supply in data["supply"]) == wanted
    assert re.fullmatch(r"PT(\d+H)?\d+M", data["totalTime"])


def test_what_people_write_stays_text_and_nothing_is_loaded_from_elsewhere(
    packs: list[Path], tmp_path: Path
) -> None:
    palette = make_palette(4, 0)
    bad = replace(palette.beads[0], name='<img src="https://elsewhere.example/">')
    cells = np.zeros((3, 3), np.int16)
    nasty = Plate(cells, replace(palette, beads=(bad, *palette.beads[1:]), name="</script>"), "x")
    three = [*packs, pack(tmp_path / "c", HOSTILE, nasty)]
    options = PublishOptions(Credit("</script><b>", "\u202eOle"), out=tmp_path / "in" / "site")
    done = publish.run(three, options)
    assert {path.name for path in (tmp_path / "in").iterdir()} == {"site"}
    slugs = [pattern.slug for pattern in done.patterns]
    assert slugs[2].startswith("title-script-alert-1-script-e")
    assert len(slugs[2]) <= 60
    pages = [options.out / name / "index.html" for name in (".", *slugs)]
    for path in pages:
        page = Page(path)
        assert page.tags.count("script") == (0 if path == pages[0] else 1)  # data
        assert "alert(1)</script" not in page.text
        assert "\u202e" not in page.text
        for load in page.loads:
            assert not re.match(r"[a-z]+:|//", load), load
            assert (path.parent / load).is_file(), load
    words = Page(pages[1]).text
    assert "&lt;script&gt;alert(1)&lt;/script&gt;" in words
    assert '<a href="https://elsewhere.example/x.png" rel="noopener nofollow ugc">x</a>' in words
    assert 'href="javascript' not in words
    assert words.index("<h3>About") < words.index("<h4>Deep")


def test_publishing_again_replaces_pages_and_keeps_the_persons_files(
    packs: list[Path], tmp_path: Path
) -> None:
    site = tmp_path / "site"
    publish.run(packs, PublishOptions(out=site))
    before = digests(site)
    assert not publish.run(packs, PublishOptions(out=site)).notes[2:]
    assert digests(site) == before  # the same bytes again
    (site / "CNAME").write_text("museum.example")
    (site / "gull" / "mine.txt").write_text("mine")
    (site / "index.html").write_text("my own page")
    secret = tmp_path / "secret.txt"
    secret.write_text("secret")
    (site / "link").symlink_to(secret)
    done = publish.run(packs[1:], PublishOptions(out=site))
    assert not (site / "gull" / "index.html").exists()
    assert (site / "CNAME").read_text() == "museum.example"
    assert (site / "gull" / "mine.txt").read_text() == "mine"
    assert (site / "index-yours-1.html").read_text() == "my own page"
    assert (site / "link").is_symlink()
    told = "\n".join(done.notes)
    for words in ("CNAME is kept", "gull/mine.txt is kept", "index.html is kept as index-yours-1"):
        assert words in told


def digests(folder: Path) -> dict[str, str]:
    return {
        path.relative_to(folder).as_posix(): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in folder.rglob("*")
        if path.is_file()
    }


def test_what_is_refused_leaves_an_older_folder_as_it_was(
    packs: list[Path], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    site = tmp_path / "site"
    publish.run(packs, PublishOptions(out=site))
    before = digests(site)
    (tmp_path / "lamp" / "plates").mkdir(parents=True)
    one_line(run("publish", tmp_path / "lamp", "--out", site), 5, "figure")
    one_line(run("publish", tmp_path / "none", "--out", site), 3, "no file")
    one_line(run("publish", packs[0], "--address", "//x", "--out", site), 2, "--address")
    (packs[1] / "text.md").write_bytes(b"\xff\xfe")
    one_line(run("publish", *packs, "--out", site), 2, "UTF-8")
    (packs[1] / "text.md").unlink()

    def fails(*_: object) -> None:
        raise OSError(28, "full")

    monkeypatch.setattr(publish, "write_overview", fails)
    with pytest.raises(OutputError, match="disk is full"):
        publish.run(packs, PublishOptions(out=site))
    assert digests(site) == before
    assert len(list(tmp_path.glob(".site*"))) == 0
    shutil.rmtree(site)
    site.mkdir()
    (site / "thesis.txt").write_text("not pages")
    with pytest.raises(OutputError, match="not one that an earlier run wrote"):
        publish.run(packs, PublishOptions(out=site))


@pytest.mark.parametrize(
    ("text", "name"),
    [("Möwe & Straße", "mowe-strasse"), ("../../etc/passwd", "etc-passwd"), ("", "pattern"),
     ("CON", "pattern-con"), ("灯台", "pattern"), ("look", "look-2"), ("a" * 99, "a" * 60)],
)  # fmt: skip
def test_slugs_are_plain_names(text: str, name: str) -> None:
    assert slug(text, ("look",)) == name


def test_the_level_follows_the_stated_limits() -> None:
    assert (Level(dict.fromkeys(LIMITS, 0)).total, Level({}).words) == (0, WORDS[0][1])
    limits = {
        name: LIMITS[name] for name in ("beads", "colours", "specks", "boards", "thin places")
    }
    at = Level({name: low for name, (low, _) in limits.items()})
    over = Level({name: low + 1 for name, (low, _) in limits.items()})
    most = Level({name: high + 1 for name, (_, high) in limits.items()})
    assert [(each.total, each.number) for each in (at, over, most)] == [(0, 1), (5, 3), (10, 4)]


@pytest.mark.browser
def test_pages_are_read_by_axe_and_ask_for_nothing(
    chromium: Any, packs: list[Path], tmp_path: Path
) -> None:
    """At 390 and 1280 px, by day and by night; nothing sticks out at the side."""
    from axe_playwright_python.sync_playwright import Axe

    site = tmp_path / "site"
    publish.run(packs, PublishOptions(Credit("", "", "CC0-1.0"), out=site))
    front, pattern = site / "index.html", site / "gull" / "index.html"
    for width, scheme, other in ((390, "light", "dark"), (1280, "dark", "light")):
        page = chromium.new_page(viewport={"width": width, "height": 844}, color_scheme=scheme)
        asked: list[str] = []
        page.on("request", lambda request, asked=asked: asked.append(request.url))
        for path in (front, pattern):
            page.goto(path.as_uri())
            page.evaluate("document.fonts.ready")
            assert page.evaluate("document.documentElement.scrollWidth") <= width
            assert page.evaluate("[...document.images].every(i => i.naturalWidth > 0)")
            assert page.evaluate("document.fonts.check('18px Hyperlegible')")
            assert asked
            assert all(url.startswith(site.as_uri()) for url in asked), asked
            found = Axe().run(page)
            assert found.violations_count == 0, found.generate_report()
        page.emulate_media(color_scheme=other)  # which only colours depend on
        found = Axe().run(page, options={"runOnly": ["color-contrast"]})
        assert found.violations_count == 0, found.generate_report()
        page.close()
