"""What a plate of other settings would take, before it is made: arithmetic, no pixels.

The size is what `make` would give: by the same `SizeOptions.wish` and `frame_...` of `image`. What
of the picture lies on the plate is known from a plate that was made of the same part; for another
part it is worked out, and said not to be sure where only a look at the picture could tell. Beads,
hours and price are those of the plate that was made, at the new size: the same share of pegs with
a bead, the same mix of colours, as many colour changes a bead.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from img2plate.colour.palette import Palette
from img2plate.image.background import CLEARING
from img2plate.image.native.native_grid import MOST_NATIVE_SIDE
from img2plate.image.sizing import CropBox, Framing, SizeWish, frame_averaged, frame_sprite
from img2plate.image.source_options import SourceOptions
from img2plate.pipeline.options import MakeOptions, palette_for
from img2plate.split.by_hand import read_seams
from img2plate.split.cuts import cuts
from img2plate.tally.counts import Counts, count_amounts
from img2plate.tally.effort import rough_hours
from img2plate.ui.worktable.wishes.files import Files
from img2plate.ui.worktable.wishes.settings import Settings, read_settings

QUIET = "quiet"
"""Seams that cut the least detail."""
MOST_BOARDS = 12
"""Across and down, of the sizes that are offered as whole boards."""
MOST_TIMES = 8
"""Beads along a pixel's side, of the sizes that are offered for a sprite."""


@dataclass(frozen=True)
class Known:
    """A plate of the picture that was made: its settings and its facts."""

    settings: Settings
    facts: dict[str, Any]


@dataclass(frozen=True)
class Laid:
    """What of the picture would lie on a plate."""

    size: tuple[int, int]
    """In pixels; of a sprite in its own."""
    is_sprite: bool
    corner: tuple[float, float]
    """Its left and upper edge on the picture, in pixels."""
    cell_px: tuple[float, float]
    """Pixels of the picture in one of a sprite's own; else 1."""
    sure: bool

    def framing(self, wish: SizeWish | None) -> Framing:
        """As `make` lays it on a plate. Raises SizeError, OptionError."""
        return frame_sprite(self.size, wish) if self.is_sprite else frame_averaged(self.size, wish)

    def placed(self, framing: Framing) -> list[float]:
        """Left, top, right, bottom of a plate on the picture, in pixels."""
        return [
            round(self.corner[axis % 2] + side * self.cell_px[axis % 2], 3)
            for axis, side in enumerate(framing.box)
        ]


def estimate(
    picture: tuple[int, int], settings: Settings, known: Known | None, files: Files | None = None
) -> dict[str, Any]:
    """What a plate of `settings` would take, in plain types; `files` has those that they name.

    picture: width and height in pixels. Raises OptionError or SizeError for what cannot be.
    """
    options = read_settings(settings, files)
    palette = palette_for(options.palette, options.pack.pitch_mm)
    before = read_settings(known.settings, files).source if known else None
    laid = laid_of(picture, options.source, known.facts["laid"] if known else None, before)
    framing = laid.framing(options.size.wish(options.pack.board, palette.pitch_mm))
    beads, counts = _counts(framing.size, options, palette, known)
    hours = counts.hours if counts else rough_hours(beads, options.pack.pace)
    return {
        "size": list(framing.size),
        "sure": laid.sure,
        "sprite": laid.is_sprite,
        "cell_px": list(laid.cell_px),
        "corner": list(laid.corner),
        "placed": laid.placed(framing),
        "seams": (seams := _seams(framing.size, options)),
        "quiet": options.pack.seams == QUIET,
        "boards": [len(axis) + 1 for axis in seams],
        "cm": [round(side * palette.pitch_mm / 10, 1) for side in framing.size],
        "beads": beads,
        "beads_are": _how_sure(options.source, before, known),
        "hours": round(hours, 1),
        "price": None if counts is None or counts.price is None else f"{counts.price:.2f}",
        "sizes": _sizes(laid, options),
    }


def laid_of(
    picture: tuple[int, int],
    source: SourceOptions,
    about: dict[str, Any] | None,
    before: SourceOptions | None,
) -> Laid:
    """What of a picture would lie on a plate; about, before: of one that was made, what did, and
    how it was looked at. Raises OptionError for a part that lies outside.
    """
    if isinstance(source.crop, CropBox):
        source.crop.check(picture)
    if about and before and _same_part(source, before):
        size, corner, cell_px = (tuple(about[name]) for name in ("size", "corner", "cell_px"))
        return Laid(size, about["sprite"], corner, cell_px, sure=True)
    part = source.crop if isinstance(source.crop, CropBox) else CropBox(0, 0, *picture)
    whole_is_sprite = bool(about["sprite"]) if about else max(picture) <= MOST_NATIVE_SIDE
    if not _is_sprite(source, whole_is_sprite):
        plain = source.source != "auto" or (about and max(part[2:]) > MOST_NATIVE_SIDE)
        sure = bool(plain) and not source.trim and source.crop != "auto"
        return Laid(part[2:], False, (part.x, part.y), (1.0, 1.0), sure)
    across, down = _cell_px(source, part, about)
    cells = max(1, round(part.width / across)), max(1, round(part.height / down))
    sure = source.cells is not None and not source.trim
    return Laid(cells, True, (part.x, part.y), (across, down), sure)


def _same_part(new: SourceOptions, old: SourceOptions) -> bool:
    """Whether the same of the picture lies on the plate."""

    def part(source: SourceOptions) -> tuple[Any, ...]:
        trimmed = (source.background, source.subject) if source.trim else ()
        return source.source, source.crop, source.cells, source.cell_px, source.trim, trimmed

    return part(new) == part(old)


def _is_sprite(source: SourceOptions, whole: bool) -> bool:
    """Whether a part is a sprite when nobody has looked at it; whole: if the picture is one."""
    if source.cells or source.cell_px or source.source == "sprite":
        return True
    return source.source == "auto" and whole


def _cell_px(
    source: SourceOptions, part: CropBox, about: dict[str, Any] | None
) -> tuple[float, float]:
    """Pixels of the picture in one of the sprite's own."""
    if source.cells:
        return part.width / source.cells[0], part.height / source.cells[1]
    if source.cell_px:
        return source.cell_px, source.cell_px
    return (about["cell_px"][0], about["cell_px"][1]) if about else (1.0, 1.0)


def _counts(
    size: tuple[int, int], options: MakeOptions, palette: Palette, known: Known | None
) -> tuple[int, Counts | None]:
    """Beads, and what they take; None for the latter where their colours are not known."""
    pegs = size[0] * size[1]
    if known is None:
        return pegs, None
    width, height = known.facts["size"]
    times = pegs / (width * height)
    beads = round(known.facts["beads"] * times)
    colours = {colour["code"]: colour["beads"] for colour in known.facts["colours"]}
    if not colours.keys() <= palette.by_code.keys():
        return beads, None
    amounts = {code: round(amount * times) for code, amount in colours.items()}
    pack = options.pack
    changes = round(known.facts["changes"] * times)
    return beads, count_amounts(
        palette, amounts, changes,
        spare_percent=pack.spare_percent, pace=pack.pace, sold=pack.bags,
    )  # fmt: skip


def _how_sure(source: SourceOptions, before: SourceOptions | None, known: Known | None) -> str:
    """Word before the number of beads: another ground may leave pegs empty, another part too."""
    if before is None or known is None:
        return "at most"
    if (source.background, source.subject) != (before.background, before.subject):
        return "at most" if source.background in CLEARING else "about"
    width, height = known.facts["size"]
    is_full = known.facts["beads"] == width * height
    return "" if is_full or _same_part(source, before) else "about"


def _seams(size: tuple[int, int], options: MakeOptions) -> list[list[int]]:
    """Columns and rows before each seam; quiet ones need the beads, so full boards stand for them.

    Raises OptionError for seams by hand that another size cannot have.
    """
    way, board = options.pack.seams, options.pack.board
    if placed := read_seams(way):
        placed.check(size, board)
        return [list(axis) for axis in placed]
    way = "full" if way == QUIET else way
    return [
        list(cuts(way, np.zeros(n + 1, np.int64), pegs)[1:])
        for n, pegs in zip(size, board, strict=True)
    ]


def _sizes(laid: Laid, options: MakeOptions) -> list[dict[str, Any]]:
    """The sizes that are offered, the smallest first: settings, and beads across and down.

    Whole multiples of a sprite; else all that reach onto every column and row of their boards.
    """
    if laid.is_sprite:
        width, height = laid.size
        more = range(2, MOST_TIMES + 1)
        return [{"settings": {}, "size": [width, height]}] + [
            {"settings": {"width": str(width * n)}, "size": [width * n, height * n]} for n in more
        ]
    board, found = options.pack.board, {}
    for across in range(1, MOST_BOARDS + 1):
        for down in range(1, MOST_BOARDS + 1):
            size = laid.framing(SizeWish(across * board.across, down * board.down)).size
            if all(
                n > (boards - 1) * pegs
                for n, boards, pegs in zip(size, (across, down), board, strict=True)
            ):
                found[size] = f"{across}x{down}"
    each = sorted(found, key=lambda size: size[0] * size[1])
    return [{"settings": {"boards": found[size]}, "size": list(size)} for size in each]
