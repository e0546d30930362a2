"""What is asked of several plates and figures at once: to publish them; of plates, to lay them on
shared boards."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from img2plate.base.credit import Credit
from img2plate.base.errors import OptionError
from img2plate.base.lengths import USUAL_BOARD, Paper, find_paper, parse_boards
from img2plate.pipeline.layout import LayoutOptions
from img2plate.pipeline.options import PackOptions

MOST_TEXT = 40_000
"""Letters of the author's own words."""
MOST_NUMBER = 1000


@dataclass(frozen=True)
class PublishWish:
    """How plates are published."""

    credit: Credit
    text: str
    """Markdown; may be empty."""
    address: str
    """Where the pages will lie; may be empty."""
    texts: Mapping[str, str] = field(default_factory=dict)
    """Markdown on one of several, by what it is picked as."""


@dataclass(frozen=True)
class LayoutWish:
    """How plates are laid on shared boards."""

    layout: LayoutOptions
    pack: PackOptions


Wish = PublishWish | LayoutWish


def read_wish(what: str, words: Mapping[str, Any]) -> Wish:
    """What a page asks. Raises KeyError for no such thing, OptionError for what cannot be."""
    if what == "publish":
        credit = Credit(*(_line(words, name) for name in ("title", "author", "licence")))
        said = words.get("texts")
        texts = {str(pick): _text(said, pick) for pick in said} if isinstance(said, dict) else {}
        text, address = _text(words, "text"), _line(words, "address")
        return PublishWish(credit.checked(), text, address, texts)
    if what == "layout":
        boards = _number(words, "across", 1, 1), _number(words, "down", 1, 1)
        gap = _number(words, "gap", 1, 0)
        return LayoutWish(
            LayoutOptions(boards, gap, words.get("turn") is False),
            PackOptions(board=parse_boards(_line(words, "board") or str(USUAL_BOARD)),
                        paper=_paper(words), zip=True),
        )  # fmt: skip
    raise KeyError(what)


def _paper(words: Mapping[str, Any]) -> Paper:
    return find_paper(_line(words, "paper") or PackOptions().paper.name)


def _text(words: Mapping[str, Any], name: str) -> str:
    """The author's own words. Raises OptionError when they are too many."""
    text = str(words.get(name) or "")
    if len(text) > MOST_TEXT:
        raise OptionError(f"has over {MOST_TEXT:,} letters", field="text")
    return text


def _line(words: Mapping[str, Any], name: str) -> str:
    return str(words.get(name) or "")[:1000]


def _number(words: Mapping[str, Any], name: str, usual: int, least: int) -> int:
    """A number of boards or pegs. Raises OptionError."""
    try:
        number = int(words.get(name, usual))
    except (TypeError, ValueError):
        raise OptionError("is not a number", field=name) from None
    if not least <= number <= MOST_NUMBER:
        raise OptionError(f"is not {least} to {MOST_NUMBER:,}", field=name, value=number)
    return number
