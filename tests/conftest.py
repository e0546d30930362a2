"""Tests run side by side, each on one core: threads that wait for each other would only spin.

The pages are tested in a real Chromium, which the fixture `phone` opens; tests marked `browser` are
skipped where there is none.
"""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from typing import Any

import pytest
from hypothesis import settings

settings.register_profile("untimed", parent=settings(), deadline=None)  # no test is timed
settings.load_profile("untimed")
os.environ["NUMBA_NUM_THREADS"] = "1"  # before numba is imported; programs that tests start, too
os.environ["OPENBLAS_NUM_THREADS"] = "1"  # and before numpy

NAMES = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable")
CHROMIUM = next((found for name in NAMES if (found := shutil.which(name))), None)
QUIET = ["--no-sandbox", "--disable-gpu", "--disable-background-networking", "--disable-sync",
         "--no-first-run", "--disable-component-update"]  # fmt: skip


def pytest_addoption(parser: pytest.Parser) -> None:
    """How much of what can be done for long; `dev.py soak` asks for more."""
    parser.addoption("--inputs", default="2000", help="damaged files for each reader")
    parser.addoption("--kills", default="20", help="times that a run is killed")
    parser.addoption(
        "--soak", action="store_true", help="more cases of the same: all marked `soak`"
    )


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Leave out what is for long runs, and skip the page tests where no Chromium is.

    With CI set page tests fail instead. They come first: each takes seconds, and the others, which
    are short, share themselves out at the end (`--dist worksteal`).
    """
    items.sort(key=lambda item: item.get_closest_marker("browser") is None)
    if not config.getoption("--soak"):
        long = [item for item in items if item.get_closest_marker("soak")]
        config.hook.pytest_deselected(items=long)
        items[:] = [item for item in items if item not in long]
    if CHROMIUM or os.environ.get("CI"):
        return
    for item in items:
        if item.get_closest_marker("browser"):
            item.add_marker(pytest.mark.skip(reason="no Chromium here: apt-get install chromium"))


@pytest.fixture(scope="session")
def chromium() -> Iterator[Any]:
    """A running Chromium."""
    from playwright.sync_api import sync_playwright

    assert CHROMIUM, "the page tests need a Chromium: apt-get install chromium"
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=QUIET)
        yield browser
        browser.close()


@pytest.fixture(scope="session")
def phone_context(chromium: Any) -> Iterator[Any]:
    """What pages of the fixture `phone` have in common; one for each takes twice the time."""
    context = chromium.new_context(viewport={"width": 390, "height": 844}, offline=True)
    yield context
    context.close()


@pytest.fixture
def phone(phone_context: Any) -> Iterator[Any]:
    """A page as large as a phone's, offline; errors and requests of any kind fail the test."""
    page = phone_context.new_page()
    page.set_default_timeout(10_000)
    page.wrong = []
    page.on("pageerror", lambda error: page.wrong.append(str(error)))
    page.on("console", lambda m: page.wrong.append(m.text) if m.type == "error" else None)
    page.on("request", lambda r: page.wrong.append(r.url) if not r.url.startswith(
        ("file:", "data:", "blob:")) else None)  # fmt: skip
    yield page
    page.evaluate("localStorage.clear()")  # the next test's page would find it
    assert not page.wrong
    page.close()
