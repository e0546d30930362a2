"""The place "By hand" for tests: the puffin on it, where its cells are, and what lies there."""

from __future__ import annotations

from typing import Any

from support import SAMPLES
from worktable import drop, go

PUFFIN = SAMPLES / "puffin.png"
PLATE = """async () => {
  const project = location.pathname.split("/").pop();
  const { size, cells, beads } = await (await fetch(`/api/projects/${project}/cells`)).json();
  const bytes = Uint8Array.from(atob(cells), (letter) => letter.charCodeAt(0));
  return [size, [...new Int16Array(bytes.buffer)].map((bead) => bead < 0 ? "" : beads[bead].code)];
}"""


def plate(page: Any) -> list[list[str]]:
    """Codes of the plate in hand as the server has it, row by row."""
    (width, height), codes = page.evaluate(PLATE)
    return [codes[row * width : (row + 1) * width] for row in range(height)]


def at_hand(page: Any) -> None:
    """Have the puffin on the table, under the hand."""
    drop(page, PUFFIN)
    go(page, "hand")
    page.wait_for_selector("#hand-numbers:has-text('486')")


def place(page: Any, column: int, row: int) -> tuple[float, float]:
    """Where a cell of the puffin's 25 x 31 is in the window, with all of it in view."""
    box = page.locator("#hand-canvas").bounding_box()
    zoom = min(box["width"] / 25, box["height"] / 31)
    left, top = (
        box["x"] + (box["width"] - 25 * zoom) / 2,
        box["y"] + (box["height"] - 31 * zoom) / 2,
    )
    return left + (column + 0.5) * zoom, top + (row + 0.5) * zoom


def drag(page: Any, start: tuple[int, int], end: tuple[int, int]) -> None:
    page.mouse.move(*place(page, *start))
    page.mouse.down()
    page.mouse.move(*place(page, *end), steps=4)
    page.mouse.up()


def settle(page: Any) -> None:
    """Wait until every stroke is saved, and lies on the plate."""
    page.wait_for_selector("body[data-pending='0'][data-plate='done']")
