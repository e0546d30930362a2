"""Packs become a folder of static pages: an overview, and a page with downloads for each pattern.

Everything is drawn anew from the plate documents, laid out as they say, so that pages, sheets and
plate belong together even where a plate was touched up. What belongs to the author alone (the
printer's measures, bags and their prices) is left out.
"""

from __future__ import annotations

import re
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from img2plate.base.archive import write_zip
from img2plate.base.credit import MOST_LETTERS, Credit, plain_line
from img2plate.base.errors import DocumentError, OptionError
from img2plate.base.files import pack_folder
from img2plate.base.site_files import bring_back, is_listed, kept_as, own_files, write_list
from img2plate.base.slugs import slug
from img2plate.pipeline.laid import as_laid, laid_as
from img2plate.pipeline.options import PackOptions, Progress, quiet
from img2plate.pipeline.pack import plan_for
from img2plate.plate.document import read_plate, write_plate
from img2plate.plate.plate import Plate
from img2plate.tally.counts import count
from img2plate.typeset.pack import write_pack_pages
from img2plate.typeset.publish import LOOK, Site, write_overview, write_pattern_page
from img2plate.typeset.publish.author_text import read_text
from img2plate.typeset.publish.pattern import (
    Download,
    Pattern,
    boards_with_beads,
    colours_of,
    level_of,
)
from img2plate.typeset.publish.pictures import write_card, write_shared

MOST_PACKS = 500
TEXT = "text.md"
"""The author's words on a pattern, in its pack."""
_DOWNLOADS = {
    "sheets.pdf": ("Sheets to print", "All boards at true scale. Print at 100 %."),
    "template.pdf": ("To recolour on paper", "Numbers in the cells, a page to choose beads on."),
    "follow.html": ("Build it on a phone", "Opens here; saved, it works without a network."),
    "plate.png": ("The plate", "One pixel per bead, to recolour or to print anew."),
    "counts.csv": ("Bead counts", "For a spreadsheet."),
}
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


@dataclass(frozen=True, eq=False)
class _Source:
    """One pattern before it is drawn."""

    plate: Plate
    options: PackOptions
    text: str
    slug: str


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
    sources, notes = _sources(packs, options, credit)
    first = sources[0].plate.credit
    title = credit.title or (first.title if len(sources) == 1 else "Patterns for beads")
    words = read_text(options.text) if options.text and len(sources) > 1 else ""
    author, licence = credit.author or _shared(sources, "author"), credit.licence
    site = Site(title, author, licence or _shared(sources, "licence"), words, address)
    patterns = []
    with pack_folder(options.out, is_older=is_listed, bring_back=bring_back) as new:
        for number, source in enumerate(sources):
            tell(f"drawing {source.slug}", number / len(sources))
            patterns.append(_write_pattern(new / source.slug, source, site, len(sources) > 1))
        write_overview(new, site, patterns)
        write_list(new)
        notes += _kept_notes(options.out, new)
    if not address:
        notes.append("previews of links want full addresses; see `address`")
    tell("done", 1.0)
    return Published(options.out, tuple(patterns), tuple(notes), time.perf_counter() - start)


def _sources(
    packs: Sequence[Path], options: PublishOptions, credit: Credit
) -> tuple[list[_Source], list[str]]:
    """Read all packs before anything is drawn; notes name what is otherwise than a plate says."""
    sources, notes, taken = list[_Source](), list[str](), list[str](_RESERVED)
    for pack in packs:
        document = _document(pack)
        plate = read_plate(document)
        laid, _ = as_laid(plate, PackOptions(), ())
        laid = replace(laid, bags=None)
        if not plate.laid:
            notes.append(f"{document} does not say how it was laid out: boards of {laid.board}")
        one = credit if len(packs) == 1 else replace(credit, title="")
        notes += [
            f"{document}: `{name}` {text}, in place of {getattr(plate.credit, name)}"
            for name, text in vars(one).items()
            if text and getattr(plate.credit, name) not in ("", text)
        ]
        signed = one.over(plate.credit)
        signed = replace(signed, title=signed.title or _title(plate.name))
        called = plain_line(plate.name)[:MOST_LETTERS] or "pattern"
        plate = replace(plate, name=called, credit=signed.cleaned(), laid=laid_as(laid))
        name = slug(plate.credit.title if _is_hostile(plate.name) else plate.name, taken)
        taken.append(name)
        own = document.parent / TEXT
        text = options.text if options.text and len(packs) == 1 else None
        if text is None and own.is_file() and not own.is_symlink():
            text = own
        sources.append(_Source(plate, laid, read_text(text) if text else "", name))
    return sources, notes


def _document(pack: Path) -> Path:
    """The plate document of a pack. Raises DocumentError."""
    if not pack.is_dir():
        return pack
    if (pack / "plate.png").is_file():
        return pack / "plate.png"
    if (pack / "plates").is_dir():
        raise DocumentError(
            f"{pack} is the pack of a figure; publish its plates one by one, as"
            f" {pack / 'plates'}/NAME.png"
        )
    raise DocumentError(f"{pack} holds no plate.png; name a pack, or a plate document")


def _write_pattern(folder: Path, source: _Source, site: Site, several: bool) -> Pattern:
    """Write one pattern's folder: the files of its pack, a zip of them, and the page."""
    plate, options = source.plate, source.options
    folder.mkdir()
    plan = plan_for(plate, options)
    counts = count(plate, plan.split, spare_percent=options.spare_percent, pace=options.pace)
    held = plan.strength
    thin = len(held.loose) + len(held.necks) + len(held.thin)
    write_plate(folder / "plate.png", plate)
    write_pack_pages(
        folder, plate, plan, counts, thickness_mm=options.thickness_mm,
        template=options.template, tell=quiet,
    )  # fmt: skip
    files = sorted(folder.iterdir())
    write_zip(folder / f"{source.slug}.zip", files)
    write_card(folder / "card.jpg", plate, options.thickness_mm)
    write_shared(folder / "shared.jpg", plate, options.thickness_mm)
    pattern = Pattern(
        slug=source.slug,
        credit=plate.credit,
        text=source.text,
        size=plate.size,
        size_mm=plate.size_mm,
        beads=counts.beads,
        boards=boards_with_beads(plate, plan.split),
        board_words=str(options.board).replace("x", " x "),
        hours=counts.hours,
        colours=colours_of(plate, counts),
        spare_percent=options.spare_percent,
        palette=plate.palette.name,
        pitch_mm=plate.palette.pitch_mm,
        level=level_of(plate, plan.split, counts, thin),
        mirrored=plan.printing.mirrored,
        picture_size=_png_size(folder / "picture.png"),
        downloads=tuple(_downloads(folder, source.slug)),
    )
    write_pattern_page(folder, site, pattern, several=several)
    return pattern


def _downloads(folder: Path, name: str) -> Iterator[Download]:
    """What can be taken from a page."""
    for file, (what, why) in _DOWNLOADS.items():
        if (folder / file).is_file():  # a template only where the plate was made with one
            yield Download(file, what, why, (folder / file).stat().st_size)
    file = f"{name}.zip"
    yield Download(file, "All in one zip", "Also the pictures.", (folder / file).stat().st_size)


def _png_size(path: Path) -> tuple[int, int]:
    """Width and height of a PNG: the first 8 bytes of its first chunk (ISO/IEC 15948, IHDR)."""
    with path.open("rb") as file:
        head = file.read(24)
    return int.from_bytes(head[16:20], "big"), int.from_bytes(head[20:24], "big")


def _kept_notes(old: Path, new: Path) -> list[str]:
    """Which of the person's own files in an older publication stay, and where."""
    if not old.is_dir() or not own_files(old):
        return []
    return [
        f"your own {before} is kept" + ("" if before == now else f" as {now}")
        for before, now in kept_as(old, new)
    ]


def _shared(sources: Sequence[_Source], name: str) -> str:
    """What all plates say of themselves; empty when they differ."""
    said = {getattr(source.plate.credit, name) for source in sources}
    return str(said.pop()) if len(said) == 1 else ""


def _title(name: str) -> str:
    """A title out of a plate's name: `north-mole_2` is North mole 2."""
    plain = Credit(title=re.sub(r"[-_\s]+", " ", name[:1000])).cleaned().title
    return plain[:1].upper() + plain[1:] or "Pattern"


def _is_hostile(name: str) -> bool:
    """Whether a plate's name leaves nothing to call a folder by."""
    return not re.search(r"[A-Za-z0-9]", name)


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
