"""What a figure's page says otherwise than that of a plate."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from img2plate.base.specks import specks_of
from img2plate.solid.box.build import Figure
from img2plate.tally.counts import Counts
from img2plate.tally.level import Level
from img2plate.typeset.figure.scene import scenes
from img2plate.typeset.figure.warnings_page import ALWAYS, RULES, SPECIAL
from img2plate.typeset.publish.pattern import Pattern, many_of
from img2plate.typeset.sheets.pressing_page import CAUTIONS


@dataclass(frozen=True)
class FigurePattern(Pattern):
    """A figure; `size` is that of its largest plate, `boards` how many plates there are."""

    spans: tuple[int, int, int] = (0, 0, 0)
    """Beads across, deep and high."""
    spans_mm: tuple[float, float, float] = (0.0, 0.0, 0.0)
    joints: int = 0
    together: tuple[str, ...] = ()
    """Words of each step of putting it together."""
    special: tuple[str, ...] = ()
    """Cautions for what people put into it."""

    @property
    def picture(self) -> str:
        """The file that shows it."""
        return "assembled.png"

    @property
    def yields(self) -> str:
        """What comes of it."""
        return f"1 figure of {self.cm} cm"

    @property
    def cm(self) -> str:
        """Width, depth and height."""
        return " x ".join(f"{mm / 10:.1f}".removesuffix(".0") for mm in self.spans_mm)

    @property
    def facts(self) -> tuple[tuple[str, str, str], ...]:
        """What it is in figures: name, value, and a word beside it."""
        return (
            ("Beads", f"{self.beads:,}", ""),
            ("Colours", str(len(self.colours)), ""),
            ("Size", f"{self.cm} cm", " x ".join(map(str, self.spans)) + " beads"),
            ("Plates", str(len(self.plates)), many_of(self.joints, "joint")),
            *self._effort,
        )

    @property
    def summary(self) -> str:
        """One sentence, as for a preview of a link."""
        return (
            f"Fuse-bead figure of {many_of(len(self.plates), 'plate')} that click together"
            f" ({self.cm} cm): {many_of(self.beads, 'bead')} in"
            f" {many_of(len(self.colours), 'colour')},"
            f" {self.level.words[0].lower()}{self.level.words[1:]}."
        )

    @property
    def alt(self) -> str:
        """What the picture shows."""
        return f"The figure put together: {self.credit.title}"

    @property
    def tools(self) -> tuple[str, ...]:
        """What is needed beside the beads."""
        first = (
            f"A pegboard of {self.board_words} pegs, {self.pitch_mm:g} mm from peg to peg; more,"
            " where larger plates are to lie on several"
        )
        return (first, *super().tools[1:], "A file, to ease a joint that is too tight")

    @property
    def steps(self) -> tuple[tuple[str, tuple[str, ...]], ...]:
        """Title and paragraphs of each step, as on the sheets."""
        return (*super().steps, ("Put it together", self.together))

    @property
    def cautions(self) -> tuple[str, ...]:
        """As on the sheets."""
        return (*CAUTIONS[:-1], *ALWAYS, *self.special, RULES)


def figure_pattern(pattern: Pattern, figure: Figure, joints: int) -> FigurePattern:
    """The page of a figure, out of what it has in common with a plate's."""
    spec = figure.spec
    largest = max((piece.plate for piece in figure.pieces), key=lambda plate: plate.bead_count)
    width, depth, height = figure.size
    return FigurePattern(
        **vars(replace(pattern, size=largest.size)),
        spans=(width, depth, height),
        spans_mm=(
            width * spec.model.pitch_mm,
            depth * spec.model.pitch_mm,
            height * spec.model.pitch_mm,
        ),
        joints=joints,
        together=tuple(scene.words for scene in scenes(figure)),
        special=tuple(line for key in spec.notes for line in SPECIAL[key]),
    )


def figure_level(figure: Figure, counts: Counts, joints: int) -> Level:
    """How difficult a figure is."""
    specks = sum(int(np.count_nonzero(specks_of(piece.plate.cells))) for piece in figure.pieces)
    return Level(
        {
            "beads": counts.beads,
            "colours": len(counts.colours),
            "specks": round(100 * specks / max(counts.beads, 1), 1),
            "plates": len(figure.pieces),
            "joints": joints,
        }
    )
