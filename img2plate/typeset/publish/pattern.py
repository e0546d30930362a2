"""What a pattern's page says: figures, colours, level, time, tools, cautions."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from img2plate.base.credit import Credit
from img2plate.base.licences import Licence, known_licence
from img2plate.base.specks import specks_of
from img2plate.colour.companions import Companions, find_companions
from img2plate.colour.palette import Bead
from img2plate.plate.plate import Plate
from img2plate.split.tiles import Split
from img2plate.tally.counts import Counts
from img2plate.tally.level import Level
from img2plate.typeset.sheets.pressing_page import CAUTIONS, steps


@dataclass(frozen=True)
class Colour:
    """One row of a pattern's colours."""

    bead: Bead
    beads: int
    with_spares: int
    lighter: Bead | None
    darker: Bead | None
    """Companions, to shade with, or to take instead."""


@dataclass(frozen=True)
class Download:
    """A file beside the page."""

    file: str
    what: str
    why: str
    bytes: int

    @property
    def size(self) -> str:
        """In kB or MB."""
        return f"{self.bytes / 1e6:.1f} MB" if self.bytes >= 1e6 else f"{-(-self.bytes // 1000)} kB"


@dataclass(frozen=True)
class Drawn:
    """A drawing beside the page."""

    file: str
    alt: str
    size: tuple[int, int]
    """px."""


@dataclass(frozen=True)
class Pattern:
    """One pattern, as its page shows it."""

    slug: str
    """Its folder."""
    credit: Credit
    """All that is known; the title is never empty."""
    text: str
    """HTML of the author's own words; may be empty."""
    size: tuple[int, int]
    size_mm: tuple[float, float]
    beads: int
    boards: int
    board_words: str
    hours: float
    colours: tuple[Colour, ...]
    spare_percent: float
    palette: str
    pitch_mm: float
    level: Level
    mirrored: bool
    picture_size: tuple[int, int]
    """Of picture.png, px."""
    downloads: tuple[Download, ...]

    drawings: tuple[Drawn, ...] = ()
    """Of how a figure goes together."""
    plates: tuple[tuple[str, int, int, int], ...] = ()
    """Of a figure: name, width and height in beads, beads."""

    @property
    def picture(self) -> str:
        """The file that shows it."""
        return "picture.png"

    @property
    def yields(self) -> str:
        """What comes of it."""
        return f"1 plate of {self.cm} cm"

    @property
    def facts(self) -> tuple[tuple[str, str, str], ...]:
        """What it is in figures: name, value, and a word beside it."""
        width, height = self.size
        return (
            ("Beads", f"{self.beads:,}", ""),
            ("Colours", str(len(self.colours)), ""),
            ("Size", f"{self.cm} cm", f"{width} x {height} beads"),
            ("Boards", str(self.boards), f"{self.board_words} pegs"),
            *self._effort,
        )

    @property
    def _effort(self) -> tuple[tuple[str, str, str], ...]:
        return (
            ("Time", self.time, "to place the beads, a guess"),
            ("Level", self.level.words, f"{self.level.number} of 4"),
        )

    @property
    def licence(self) -> Licence | None:
        """The licence, if it is one of SPDX's list."""
        return known_licence(self.credit.licence)

    @property
    def cm(self) -> str:
        """Width and height."""
        return " x ".join(f"{mm / 10:.1f}".removesuffix(".0") for mm in self.size_mm)

    @property
    def time(self) -> str:
        """The hours in words that do not say more than is known."""
        minutes = self.hours * 60
        if minutes < 90:
            return many_of(max(5, 5 * round(minutes / 5)), "minute")
        return f"{round(self.hours)} hours"

    @property
    def iso_time(self) -> str:
        """The same as ISO 8601 writes a duration."""
        minutes = max(5, 5 * round(self.hours * 12))
        return f"PT{minutes // 60}H{minutes % 60}M" if minutes >= 60 else f"PT{minutes}M"

    @property
    def summary(self) -> str:
        """One sentence, as for a preview of a link."""
        return (
            f"Fuse-bead pattern, {self.size[0]} x {self.size[1]} beads ({self.cm} cm):"
            f" {many_of(self.beads, 'bead')} in {many_of(len(self.colours), 'colour')},"
            f" {self.level.words[0].lower()}{self.level.words[1:]}."
        )

    @property
    def alt(self) -> str:
        """What the picture shows."""
        return f"The finished plate: {self.credit.title}"

    @property
    def tools(self) -> tuple[str, ...]:
        """What is needed beside the beads."""
        return (
            f"{many_of(self.boards, 'pegboard')} of {self.board_words} pegs,"
            f" {self.pitch_mm:g} mm from peg to peg",
            "Iron, and a flat, heat-proof table",
            "Baking paper",
            "Masking tape, where the plate is to be lifted before pressing",
            "Tweezers, for small hands and single beads",
            "Something flat and heavy to cool it under",
        )

    @property
    def steps(self) -> tuple[tuple[str, tuple[str, ...]], ...]:
        """Title and paragraphs of each step, as on the sheets."""
        return steps(mirrored=self.mirrored)

    @property
    def cautions(self) -> tuple[str, ...]:
        """As on the sheets, with what this plate wants."""
        thin = int(self.level.values.get("thin places", 0))
        if not thin:
            return CAUTIONS
        are = "place of this plate is" if thin == 1 else "places of this plate are"
        return (
            f"{thin} {are} thin or loose (strength.png in the zip shows where): slide something"
            " flat under it before you lift it.",
            *CAUTIONS,
        )


def colours_of(plate: Plate, counts: Counts) -> tuple[Colour, ...]:
    """The colours of a plate with their companions, most used first."""
    beads, pairs = plate.palette.beads, find_companions(plate.palette)

    def row(index: int, amount: int, with_spares: int) -> Colour:
        pair: Companions = pairs[index]
        other = [None if one is None else beads[one] for one in (pair.lighter, pair.darker)]
        return Colour(beads[index], amount, with_spares, *other)

    return tuple(row(line.index, line.beads, line.with_spares) for line in counts.colours)


def level_of(plate: Plate, cut: Split, counts: Counts, thin: int) -> Level:
    """How difficult a plate is; thin: places where it is thin or loose."""
    specks = int(np.count_nonzero(specks_of(plate.cells)))
    return Level(
        {
            "beads": counts.beads,
            "colours": len(counts.colours),
            "specks": round(100 * specks / max(counts.beads, 1), 1),
            "boards": boards_with_beads(plate, cut),
            "thin places": thin,
        }
    )


def boards_with_beads(plate: Plate, cut: Split) -> int:
    """How many boards have something to build."""
    return sum(bool((tile.of(plate.cells) >= 0).any()) for tile in cut.tiles)


def many_of(number: int, what: str) -> str:
    """`1 bead`, `1,200 beads`."""
    return f"{number:,} {what}" if number == 1 else f"{number:,} {what}s"
