"""The pages built from `docs/`: no warning, no outside request, every command, a search offline.

The reference of the Python API is left out here, as it takes longest; `dev.py lint` builds it, too.
"""

from __future__ import annotations

import re
import subprocess
import sys
from html.parser import HTMLParser
from importlib.util import find_spec
from pathlib import Path
from typing import Any

import click
import pytest
from support import commands, made_once

from img2plate.ui.cli import cli

ROOT = Path(__file__).parents[1]
if not all(map(find_spec, ("sphinx", "myst_parser", "furo"))):  # slow to import
    pytest.skip("the generator is not here: pip install .[docs]", allow_module_level=True)

OUTSIDE = re.compile(r"^\s*(?:[a-z]+:)?//", re.I)
LOADED = {"src", "srcset", "poster", "data"}
"""Attributes whose address a browser fetches by itself."""


class Fetched(HTMLParser):
    """Gathers what a browser fetches for a page without being asked."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.addresses: list[str] = []
        self.feed(text)
        self.addresses += re.findall(r"url\(['\"]?([^)'\"]+)", text)
        self.addresses += re.findall(r"@import ['\"]([^'\"]+)", text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        for name, value in attrs:
            if value and (name in LOADED or (tag == "link" and name == "href")):
                self.addresses.append(value)


@pytest.fixture(scope="session")
def site(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The pages, built with warnings as errors."""
    with made_once(tmp_path_factory, "site") as (out, is_empty):
        if is_empty:
            build(out)
    return out


def build(out: Path) -> None:
    command = [
        sys.executable, "-m", "sphinx", "-W", "--keep-going", "-q", "-b", "html",
        "-D", "exclude_patterns=pictures,api",
        "-D", "suppress_warnings=ref.python,toc.excluded,toc.not_readable,myst.xref_missing",
        str(ROOT / "docs"), str(out),
    ]  # fmt: skip
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr


def test_no_page_asks_for_anything_outside(site: Path) -> None:
    files = [path for path in site.rglob("*") if path.suffix in {".html", ".css"}]
    assert len(files) > 30
    fetched = {path: Fetched(path.read_text(encoding="utf-8")).addresses for path in files}
    assert sum(map(len, fetched.values())) > 100
    outside = [(p.name, a) for p, some in fetched.items() for a in some if OUTSIDE.match(a)]
    assert outside == []


def test_every_fetched_file_is_there(site: Path) -> None:
    for path in site.rglob("*.html"):
        for address in Fetched(path.read_text(encoding="utf-8")).addresses:
            file = address.partition("?")[0].partition("#")[0]
            if file and not file.startswith("data:"):
                assert (path.parent / file).exists(), f"{path.name}: {file}"


def test_every_command_and_option_has_its_place(site: Path) -> None:
    names = cli.list_commands(click.Context(cli))
    assert {path.stem for path in (ROOT / "docs" / "commands").glob("*.md")} == set(names)
    for name, command in commands(cli):
        page = (site / "commands" / f"{name.split()[0]}.html").read_text(encoding="utf-8")
        for parameter in command.params:
            if isinstance(parameter, click.Option) and not parameter.hidden:
                address = f"{name.replace(' ', '-')}{parameter.opts[0][1:]}"
                assert f'id="{address}"' in page, address


def test_every_page_of_the_tour_is_in_the_list(site: Path) -> None:
    index = (site / "index.html").read_text(encoding="utf-8")
    for path in (ROOT / "docs" / "tour").glob("*.md"):
        assert f'href="tour/{path.stem}.html"' in index


@pytest.mark.browser
def test_the_search_works_from_the_disk_on_a_phone(site: Path, chromium: Any) -> None:
    # Not the fixture `phone`: from the disk the search may not fetch the excerpts that it shows
    # beside its results, and says so on the console.
    context = chromium.new_context(viewport={"width": 390, "height": 844}, offline=True)
    page = context.new_page()
    page.goto((site / "search.html").as_uri() + "?q=companion")
    page.wait_for_selector("#search-results li a[href*='scatter']", timeout=20_000)
    page.goto((site / "tour" / "boards.html").as_uri())
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    context.close()
