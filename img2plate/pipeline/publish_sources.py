"""What is to be published, read before anything is drawn."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from img2plate.base.credit import MOST_LETTERS, Credit, plain_line
from img2plate.base.errors import DocumentError
from img2plate.base.slugs import slug
from img2plate.pipeline.laid import as_laid, laid_as
from img2plate.pipeline.options import PackOptions
from img2plate.pipeline.published_figure import FigureSource, read_figure_pack
from img2plate.pipeline.published_plate import PlateSource
from img2plate.plate.document import read_plate
from img2plate.plate.plate import Plate
from img2plate.typeset.publish.author_text import read_text

TEXT = "text.md"
"""The author's words on a pattern, in its pack."""
Source = PlateSource | FigureSource


def read_sources(
    packs: Sequence[Path], text: Path | None, credit: Credit, reserved: Sequence[str]
) -> tuple[list[Source], list[str]]:
    """Read all packs; notes name what is otherwise than a plate says.

    text: Markdown on the pattern when there is one; credit: goes before what plates say, its title
    for one alone; reserved: names of folders that are taken. Raises DocumentError and FigureError.
    """
    sources, notes, taken = list[Source](), list[str](), list(reserved)
    alone = len(packs) == 1
    signed = credit if alone else replace(credit, title="")
    for pack in packs:
        words = _words(pack, text if alone else None)
        if pack.is_dir() and not (pack / "plate.png").is_file() and (pack / "plates").is_dir():
            source: Source = _figure(pack, words, signed, taken, notes)
        else:
            source = _plate(_document(pack), words, signed, taken, notes)
        taken.append(source.slug)
        sources.append(source)
    return sources, notes


def _plate(
    document: Path, words: str, credit: Credit, taken: Sequence[str], notes: list[str]
) -> PlateSource:
    """A plate document, laid out as it says."""
    plate = read_plate(document)
    laid, _ = as_laid(plate, PackOptions(), ())
    laid = replace(laid, bags=None)
    if not plate.laid:
        notes.append(f"{document} does not say how it was laid out: boards of {laid.board}")
    notes += _replaced(document, credit, plate.credit)
    signed = credit.over(plate.credit)
    signed = replace(signed, title=signed.title or _title_of(plate))
    called = plain_line(plate.name)[:MOST_LETTERS] or "pattern"
    plate = replace(plate, name=called, credit=signed.cleaned(), laid=laid_as(laid))
    name = slug(plate.credit.title if _is_hostile(plate.name) else plate.name, taken)
    return PlateSource(plate, laid, words, name)


def _figure(
    pack: Path, words: str, credit: Credit, taken: Sequence[str], notes: list[str]
) -> FigureSource:
    """A figure, built anew."""
    figure, options, told = read_figure_pack(pack)
    notes += told
    own = figure.spec.credit
    notes += _replaced(pack, credit, own)
    figure = replace(figure, spec=replace(figure.spec, credit=credit.over(own).cleaned()))
    signed = figure.spec.credit
    signed = replace(signed, title=signed.title or _title(figure.spec.name)).cleaned()
    name = slug(signed.title if _is_hostile(figure.spec.name) else figure.spec.name, taken)
    return FigureSource(figure, options, signed, words, name)


def _replaced(source: Path, credit: Credit, own: Credit) -> list[str]:
    """A note of each that a plate or figure says of itself, and that is another now."""
    return [
        f"{source}: `{name}` {text}, in place of {getattr(own, name)}"
        for name, text in vars(credit).items()
        if text and getattr(own, name) not in ("", text)
    ]


def _words(pack: Path, text: Path | None) -> str:
    """The author's own words as HTML: as given, else those in the pack."""
    own = (pack if pack.is_dir() else pack.parent) / TEXT
    if text is None and own.is_file() and not own.is_symlink():
        text = own
    return read_text(text) if text else ""


def _document(pack: Path) -> Path:
    """The plate document of a pack. Raises DocumentError."""
    if not pack.is_dir():
        return pack
    if (pack / "plate.png").is_file():
        return pack / "plate.png"
    raise DocumentError(f"{pack} holds no plate.png; name a pack, or a plate document")


def _title_of(plate: Plate) -> str:
    """A title out of a plate's name, and of its figure's if it is of one."""
    figure = str(plate.made.get("figure", ""))
    return f"{_title(figure)}: {plate.name}" if figure.strip() else _title(plate.name)


def _title(name: str) -> str:
    """A title out of a plate's name: `north-mole_2` is North mole 2."""
    plain = Credit(title=re.sub(r"[-_\s]+", " ", name[:1000])).cleaned().title
    return plain[:1].upper() + plain[1:] or "Pattern"


def _is_hostile(name: str) -> bool:
    """Whether a plate's name leaves nothing to call a folder by."""
    return not re.search(r"[A-Za-z0-9]", name)
