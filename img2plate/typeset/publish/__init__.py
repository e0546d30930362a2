"""Static pages of patterns that any web space serves: an overview, and a page for each.

No script and no outside request: the pages' content security policy allows their own folder alone.
All texts go through jinja2's escaping; the author's own are Markdown without HTML (`author_text`).
"""

from __future__ import annotations

import shutil
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import TYPE_CHECKING, Any

from img2plate.base.licences import Licence, known_licence
from img2plate.tally.level import LIMITS, WORDS
from img2plate.typeset import look
from img2plate.typeset.publish.pattern import Pattern
from img2plate.typeset.publish.pictures import CARD

if TYPE_CHECKING:
    from jinja2 import Environment

LOOK = "look"
"""The folder of style and typeface."""


@dataclass(frozen=True)
class Site:
    """What holds for all pages."""

    title: str
    author: str
    licence: str
    text: str
    """HTML of the author's own words; may be empty."""
    address: str
    """Where the pages will lie, ending in /; empty when that is not known."""

    @property
    def known_licence(self) -> Licence | None:
        """The licence, if it is one of SPDX's list."""
        return known_licence(self.licence)


def write_overview(folder: Path, site: Site, patterns: list[Pattern]) -> None:
    """Write `index.html`, with the pictures of all patterns, and the look that all pages share."""
    _write_look(folder / LOOK)
    _fill(folder / "index.html", "overview.html", site, patterns=patterns, card=CARD)


def write_pattern_page(folder: Path, site: Site, pattern: Pattern, *, several: bool) -> None:
    """Write `index.html` of one pattern beside its files; several: whether there are others."""
    from img2plate.typeset.publish.how_to import how_to

    page = f"{site.address}{pattern.slug}/" if site.address else ""
    data, limits = how_to(pattern, page), LIMITS
    _fill(folder / "index.html", "pattern.html", site, pattern=pattern, data=data, limits=limits,
          levels=WORDS, several=several)  # fmt: skip


def _fill(path: Path, template: str, site: Site, **values: Any) -> None:
    """Write a page from a template."""
    page = _templates().get_template(template).render(site=site, **values)
    path.write_text(page + "\n", encoding="utf-8", newline="\n")


@cache
def _templates() -> Environment:
    """The templates of this folder; a name that is not known is an error."""
    import jinja2

    return jinja2.Environment(
        loader=jinja2.FunctionLoader(_here),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )


def _here(name: str) -> str:
    """A file of this folder."""
    return (files("img2plate.typeset.publish") / name).read_text(encoding="utf-8")


def _write_look(folder: Path) -> None:
    """The style, and the typeface with its notice."""
    folder.mkdir()
    for name, bold in (("regular", False), ("bold", True)):
        shutil.copyfile(look.font_file(bold=bold), folder / f"hyperlegible-{name}.ttf")
    colours = [
        ":root{color-scheme:light dark;" + _variables(look.LIGHT) + "}",
        "@media (prefers-color-scheme:dark){:root{" + _variables(look.DARK) + "}}",
        "@media print{:root{color-scheme:light;" + _variables(look.LIGHT) + "}}",
    ]
    style = "\n".join([f"/* {look.font_notice()} */", *colours, _here("page.css")])
    (folder / "page.css").write_text(style, encoding="utf-8", newline="\n")


def _variables(colours: dict[str, str]) -> str:
    """CSS custom properties."""
    return "".join(f"--{name}:{colour};" for name, colour in colours.items())
