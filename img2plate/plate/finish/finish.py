"""All that is done to a plate once its beads are chosen, in this order: turned, mirrored, repeated,
joined, outlined, bordered, and a hole cut to hang it by."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np

from img2plate.base.arrays import Cells
from img2plate.base.errors import OptionError
from img2plate.colour.palette import Palette
from img2plate.plate.finish.edge import bordered, grown, outlined, room_missing
from img2plate.plate.finish.join import colour_of, join, parse_join
from img2plate.plate.finish.loop import looped, parse_loop
from img2plate.plate.finish.turn import Repeat, mirrored, repeated, turned
from img2plate.plate.plate import Plate

MOST_WIDE = 50
"""Beads of an outline or a border."""
_ENDS = "the outline ends at the plate's sides; `grow` makes room for it"
_MIRRORS = ("left-right", "top-bottom")


@dataclass(frozen=True)
class FinishOptions:
    """What is done to a plate after its beads are chosen; nothing unless it is asked for."""

    rotate: int = 0
    """Degrees clockwise: 0, 90, 180 or 270."""
    mirror: str | None = None
    """`left-right` or `top-bottom`."""
    repeat: Repeat | None = None
    join: str = ""
    """`outline`, `backing` or `bridges`, perhaps `:CODE`: see `plate.finish.join`."""
    outline: str = ""
    """`CODE[:N]`."""
    border: str = ""
    """`N:CODE`."""
    loop: str = ""
    """`N[:CODE][:top|middle]`: see `plate.finish.loop`."""
    grow: bool = False
    """Whether the plate may grow for the outline, the border and the hole."""

    @property
    def changes(self) -> bool:
        """Whether anything is asked for."""
        return replace(self, grow=False) != FinishOptions()

    def check(self, palette: Palette) -> None:
        """Raise OptionError for what makes no sense with a palette."""
        if self.rotate not in (0, 90, 180, 270):
            raise OptionError("is none of 90, 180 and 270", field="rotate", value=self.rotate)
        if self.mirror is not None and self.mirror not in _MIRRORS:
            raise OptionError(
                f"is none of {', '.join(_MIRRORS)}", field="mirror", value=self.mirror
            )
        if self.join:
            colour_of(palette, *parse_join(self.join))
        self.outlines(palette)
        self.borders(palette)
        if self.loop and (code := parse_loop(self.loop).code):
            palette.index(code, "loop")
        outlines = self.join.startswith("outline") or self.outline
        if self.grow and not (outlines or self.border or self.loop):
            raise OptionError(
                "is for an outline, `border` and `loop`", field="grow", remedy="give one of them"
            )

    def outlines(self, palette: Palette) -> tuple[int, int] | None:
        """Palette index of the outline, and how wide it is; None for no outline."""
        if not self.outline:
            return None
        code, _, wide = self.outline.partition(":")
        return palette.index(code, "outline"), _wide(wide or "1", "outline", self.outline)

    def borders(self, palette: Palette) -> tuple[int, int] | None:
        """Palette index of the border, and how wide it is; None for no border."""
        if not self.border:
            return None
        wide, _, code = self.border.partition(":")
        return palette.index(code, "border"), _wide(wide, "border", self.border)


class Finished(NamedTuple):
    """A plate that was finished, and what to know of it."""

    plate: Plate
    notes: tuple[str, ...]


def finish(plate: Plate, options: FinishOptions) -> Finished:
    """Do all that is asked for. Raises OptionError for what cannot be done."""
    options.check(plate.palette)
    if not options.changes:
        return Finished(plate, ())
    cells, notes = _turned(plate.cells, options), []
    if options.join:
        way, _ = parse_join(options.join)
        if way == "outline" and options.grow:
            cells = grown(cells, 1)
        elif way == "outline" and room_missing(cells >= 0, 1):
            notes.append(_ENDS)
        joined = join(replace(plate, cells=cells), *parse_join(options.join))
        cells = joined.plate.cells
        notes.append(joined.note)
    if (line := options.outlines(plate.palette)) is not None:
        if options.grow:
            cells = grown(cells, line[1])
        elif room_missing(cells >= 0, line[1]):
            notes.append(_ENDS)
        cells = outlined(cells, *line)
    if (line := options.borders(plate.palette)) is not None:
        cells = grown(cells, line[1]) if options.grow else cells
        if min(cells.shape) <= 2 * line[1]:
            raise OptionError("leaves nothing of the plate", field="border", value=options.border)
        cells = bordered(cells, *line)
    if options.loop:
        hung = looped(cells, parse_loop(options.loop), plate.palette, grow=options.grow)
        cells = hung.cells
        notes.append(hung.note)
    made = {**plate.made, **_said(options)}
    return Finished(replace(plate, cells=np.asarray(cells, np.int16), made=made), tuple(notes))


def _turned(cells: Cells, options: FinishOptions) -> Cells:
    """Turned, mirrored and repeated."""
    if options.rotate:
        cells = turned(cells, options.rotate)
    if options.mirror:
        cells = mirrored(cells, options.mirror)
    return repeated(cells, options.repeat) if options.repeat else cells


def _said(options: FinishOptions) -> dict[str, str | int | float]:
    """What was done, for the plate's document."""
    said: dict[str, str | int | float] = {}
    if options.rotate:
        said["rotate"] = options.rotate
    if options.repeat:
        across, down, half = options.repeat
        said["repeat"] = f"{across}x{down}" + (f":{half}" if half else "")
    for name in ("mirror", "join", "outline", "border", "loop"):
        if value := getattr(options, name):
            said[name] = value
    return said


def _wide(text: str, field: str, value: str) -> int:
    """How many beads wide. Raises OptionError."""
    if not text.isdecimal() or not 1 <= int(text) <= MOST_WIDE:
        form = "CODE or CODE:2" if field == "outline" else "2:CODE"
        raise OptionError(
            f"is not 1 to {MOST_WIDE} beads of a colour, as in {form}", field=field, value=value
        )
    return int(text)
