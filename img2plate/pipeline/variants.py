"""What `compare` sets side by side: the combinations of what was given more than once."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from itertools import product

from img2plate.base.errors import OptionError
from img2plate.pipeline.options import MakeOptions

MOST_VARIANTS = 60
SEARCHED = ("auto", "search")
"""Shadings that a look makes a difference to."""


@dataclass(frozen=True)
class CompareOptions:
    """What is set side by side; an empty row means what `make` says.

    When no row has two entries, rows that are empty are filled by what suits the picture: see
    `proposals`.
    """

    palettes: Sequence[str] = ()
    shadings: Sequence[str] = ()
    colours: Sequence[int | None] = ()
    widths: Sequence[int] = ()
    looks: Sequence[str] = ()
    """For the shadings that have a look; the others come once."""
    make: MakeOptions = field(default_factory=MakeOptions)
    """All else. Its stock is no limit here: the sheet says what is missing."""
    write_pack: int | None = None
    """Number of the variant whose pack is written too; 1 is the first."""

    @property
    def says_what(self) -> bool:
        """Whether something was given more than once, and nothing has to be proposed."""
        rows = self.palettes, self.shadings, self.looks, self.colours, self.widths
        return any(len(row) > 1 for row in rows)

    def first(self) -> MakeOptions:
        """Options of the first plate, before anything is proposed."""
        return replace(self, write_pack=None).variants()[0]

    def variants(self) -> list[MakeOptions]:
        """Options of each combination, palettes outermost. Raises OptionError for too many."""
        make = self.make
        found = [
            replace(
                make,
                palette=palette,
                stock=None,
                shading=replace(make.shading, shading=shading, look=look),
                choice=replace(make.choice, colours=colours),
                size=replace(make.size, width=width),
            )
            for palette, (shading, look), colours, width in product(
                self.palettes or (make.palette,),
                tuple(self._shaded()),
                self.colours or (make.choice.colours,),
                self.widths or (make.size.width,),
            )
        ]
        if len(found) > MOST_VARIANTS:
            raise OptionError(f"{len(found)} variants are too many; at most {MOST_VARIANTS}")
        if self.write_pack is not None and not 1 <= self.write_pack <= len(found):
            raise OptionError(
                "is not a variant",
                field="write_pack",
                value=self.write_pack,
                remedy=f"they are 1 to {len(found)}",
            )
        return found

    def _shaded(self) -> Iterator[tuple[str, str]]:
        """Each shading with each look that it has."""
        looks = self.looks or (self.make.shading.look,)
        for shading in self.shadings or (self.make.shading.shading,):
            for look in looks if shading in SEARCHED else looks[:1]:
                yield shading, look


def words_for(options: MakeOptions) -> str:
    """A variant in words, for when there is no plate of it."""
    return ", ".join(_words(options))


def _words(options: MakeOptions) -> Iterable[str]:
    """Palette, shading and what else was asked for."""
    yield options.palette
    yield options.shading.shading
    if options.shading.shading in SEARCHED:
        yield options.shading.look
    if options.choice.colours is not None:
        yield f"{options.choice.colours} colours"
    if options.size.width is not None:
        yield f"{options.size.width} wide"
