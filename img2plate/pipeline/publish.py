"""Packs become a folder of static pages: an overview, and a page with downloads for each pattern.

Everything is drawn anew, plates from their documents, laid out as they say, figures from the
description in their pack, so that pages, sheets and plates belong together. What belongs to the
author alone (the printer's measures, bags and their prices) is left out.
"""

from __future__ import annotations

import re
import time
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from img2plate.base.credit import Credit
from img2plate.base.errors import OptionError
from img2plate.base.files import pack_folder
from img2plate.base.site_files import bring_back, is_listed, kept_as, own_files, write_list
from img2plate.pipeline.options import Progress, quiet
from img2plate.pipeline.publish_sources import Source, read_sources
from img2plate.pipeline.published_figure import FigureSource, write_figure_page
from img2plate.pipeline.published_plate import write_plate_page
from img2plate.typeset.publish import LOOK, Site, write_overview
from img2plate.typeset.publish.author_text import read_text
from img2plate.typeset.publish.pattern import Pattern

MOST_PACKS = 500
_RESERVED = (LOOK, "index", "published")


@dataclass(frozen=True)
class PublishOptions:
    """What is published, and how it is signed."""

    credit: Credit = field(default_factory=Credit)
    """Title of all, or of the one pattern; author and licence go before those of the plates."""
    text: Path | None = None
    """Markdown file: for the pattern if there is one, else for the overview."""
    address: str = ""
    """Where the pages will lie, for previews of links."""
    out: Path = Path("site")


@dataclass(frozen=True)
class Published:
    """What a run wrote."""

    folder: Path
    patterns: tuple[Pattern, ...]
    notes: tuple[str, ...]
    seconds: float

    def as_json(self) -> dict[str, Any]:
        """Plain types."""
        return {
            "folder": str(self.folder),
            "patterns": [
                {
                    "folder": pattern.slug,
                    "title": pattern.credit.title,
                    "author": pattern.credit.author,
                    "licence": pattern.credit.licence,
                    "beads": pattern.beads,
                    "colours": len(pattern.colours),
                    "boards": pattern.boards,
                    "level": pattern.level.number,
                    "level_points": pattern.level.points,
                }
                for pattern in self.patterns
            ],
            "notes": list(self.notes),
            "seconds": round(self.seconds, 3),
        }


def run(
    packs: Sequence[Path], options: PublishOptions, *, progress: Progress | None = None
) -> Published:
    """Publish packs, each a folder with a plate document or the document itself.

    An older publication in `options.out` is replaced whole or not at all; the person's own files in
    it stay. Raises OptionError, DocumentError and OutputError.
    """
    start, tell = time.perf_counter(), progress or quiet
    credit, address = options.credit.checked(), _address(options.address)
    if not 0 < len(packs) <= MOST_PACKS:
        raise OptionError(f"publishes 1 to {MOST_PACKS} packs at once", value=len(packs))
    sources, notes = read_sources(packs, options.text, credit, _RESERVED)
    first = sources[0].credit
    title = credit.title or (first.title if len(sources) == 1 else "Patterns for beads")
    words = read_text(options.text) if options.text and len(sources) > 1 else ""
    author, licence = credit.author or _shared(sources, "author"), credit.licence
    site = Site(title, author, licence or _shared(sources, "licence"), words, address)
    patterns = []
    with pack_folder(options.out, is_older=is_listed, bring_back=bring_back) as new:
        for number, source in enumerate(sources):
            tell(f"drawing {source.slug}", number / len(sources))
            page = new / source.slug, site, len(sources) > 1
            if isinstance(source, FigureSource):
                patterns.append(write_figure_page(source, *page))
            else:
                patterns.append(write_plate_page(source, *page))
        write_overview(new, site, patterns)
        write_list(new)
        notes += _kept_notes(options.out, new)
    if not address:
        notes.append("previews of links want full addresses; see `address`")
    tell("done", 1.0)
    return Published(options.out, tuple(patterns), tuple(notes), time.perf_counter() - start)


def _kept_notes(old: Path, new: Path) -> list[str]:
    """Which of the person's own files in an older publication stay, and where."""
    if not old.is_dir() or not own_files(old):
        return []
    return [
        f"your own {before} is kept" + ("" if before == now else f" as {now}")
        for before, now in kept_as(old, new)
    ]


def _shared(sources: Sequence[Source], name: str) -> str:
    """What all plates say of themselves; empty when they differ."""
    said = {getattr(source.credit, name) for source in sources}
    return str(said.pop()) if len(said) == 1 else ""


def _address(text: str) -> str:
    """Check an address, and end it in a slash. Raises OptionError."""
    if not text:
        return ""
    if not re.fullmatch(r"https?://[^\s\"'<>\\?#]{1,400}", text):
        raise OptionError(
            "is not an address",
            field="address",
            value=text[:80],
            remedy="write it as https://harbour.example/patterns/",
        )
    return text.rstrip("/") + "/"
