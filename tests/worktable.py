"""The worktable for tests: the real command, and a browser that looks at it."""

from __future__ import annotations

import base64
import contextlib
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any


@contextlib.contextmanager
def served(folder: Path, *more: str) -> Iterator[tuple[str, subprocess.Popen[str]]]:
    """The command on any free port: the address that it printed, and its process."""
    command = [
        sys.executable,
        "-m",
        "img2plate",
        "worktable",
        "--port",
        "0",
        "--folder",
        str(folder),
        *more,
    ]
    process = subprocess.Popen(
        command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, start_new_session=True
    )
    assert process.stdout is not None
    try:
        yield process.stdout.readline().strip(), process
    finally:
        with contextlib.suppress(ProcessLookupError):
            os.killpg(process.pid, signal.SIGKILL)
        process.communicate()


@contextlib.contextmanager
def browsing(chromium: Any, address: str, **how: Any) -> Iterator[Any]:
    """A page that opened the printed address; errors and requests elsewhere fail the test."""
    context = chromium.new_context(**how)
    context.wrong = []
    here = address.split("/open/")[0] + "/"

    def watch(page: Any) -> None:
        page.set_default_timeout(60_000)
        page.on("pageerror", lambda error: context.wrong.append(str(error)))
        page.on("console", lambda m: context.wrong.append(said(m)) if m.type == "error" else None)
        page.on(
            "request", lambda r: context.wrong.append(r.url) if not r.url.startswith(here) else None
        )

    context.on("page", watch)
    page = context.new_page()
    page.goto(address)
    yield page
    assert not context.wrong, context.wrong
    context.close()


def said(message: Any) -> str:
    """What the console said, and of which address."""
    return f"{message.text} {message.location.get('url', '')}"


DROP = """async ([name, data]) => {
  const bytes = Uint8Array.from(atob(data), (letter) => letter.charCodeAt(0));
  const transfer = new DataTransfer();
  transfer.items.add(new File([bytes], name, { type: "image/png" }));
  const how = { dataTransfer: transfer, bubbles: true, cancelable: true };
  document.body.dispatchEvent(new DragEvent("drop", how));
}"""


def drop(page: Any, picture: Path) -> None:
    """Drop a picture on the first page, and wait for its plate to lie large on the table."""
    page.evaluate(DROP, [picture.name, base64.b64encode(picture.read_bytes()).decode()])
    page.wait_for_url("**/p/*")
    go(page, "plate")
    page.wait_for_selector("#making", state="hidden")
    page.wait_for_selector("#near[src]")


def go(page: Any, place: str) -> None:
    """Go to a place on the table."""
    page.click(f"#strip a[href='#{place}']")
    page.wait_for_selector(f"#place-{place}:visible")


def command(page: Any) -> str:
    return str(page.text_content("#command"))


def until(found: Callable[[], Any]) -> Any:
    """Ask until something is there; a plate that is another by now is asked for again."""
    end = time.monotonic() + 120
    while time.monotonic() < end:
        with contextlib.suppress(KeyError):
            if answer := found():
                return answer
        time.sleep(0.05)
    raise AssertionError("it did not come")
