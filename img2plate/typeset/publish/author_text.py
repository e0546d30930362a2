"""The author's own words: Markdown without HTML, pictures from elsewhere or harmful links."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

from img2plate.base.errors import OptionError

if TYPE_CHECKING:
    from markdown_it import MarkdownIt
    from markdown_it.token import Token

MOST_BYTES = 200_000
FIRST_HEADING = 3
"""Of the text; the page has h1 and h2 itself."""


def read_text(path: Path, field: str = "text") -> str:
    """HTML of a Markdown file. Raises OptionError for what is no text, or too much of it."""
    try:
        data = path.read_bytes()
    except OSError as error:
        raise OptionError(
            f"cannot be read: {error.strerror or error}", field=field, value=str(path)
        ) from error
    if len(data) > MOST_BYTES:
        raise OptionError(
            f"has {len(data):,} bytes, over the limit of {MOST_BYTES:,}",
            field=field,
            value=str(path),
        )
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise OptionError(
            "is not text in UTF-8", field=field, value=str(path), remedy="save it as UTF-8"
        ) from None
    return to_html(text)


def to_html(text: str) -> str:
    """HTML of Markdown; HTML in it is shown as it is written, pictures become links."""
    reader = _reader()
    tokens = reader.parse(text)
    _level_headings(tokens)
    for token in tokens:
        for child in token.children or []:
            if child.type == "link_open":
                child.attrSet("rel", "noopener nofollow ugc")
    return str(reader.renderer.render(tokens, reader.options, {}))


@cache
def _reader() -> MarkdownIt:
    from markdown_it import MarkdownIt

    return MarkdownIt("js-default", {"html": False}).disable("image")


def _level_headings(tokens: list[Token]) -> None:
    """Move headings below the page's own, none more than one step below the one before."""
    before = FIRST_HEADING - 1
    for token in tokens:
        if token.type == "heading_open":
            before = min(before + 1, FIRST_HEADING - 1 + int(token.tag[1]), 6)
            token.tag = f"h{before}"
        elif token.type == "heading_close":
            token.tag = f"h{before}"
