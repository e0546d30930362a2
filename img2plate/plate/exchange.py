"""Colours of a plate that are exchanged by hand, and rare ones that go with those that stay."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from img2plate.base.errors import OptionError, StockError
from img2plate.base.words import many
from img2plate.colour.palette import Palette
from img2plate.plate.limits.rare import exchanged, merge_rare
from img2plate.plate.plate import Plate

_MOST_NAMED = 8


@dataclass(frozen=True)
class ExchangeOptions:
    """Which beads take the place of others on a plate that was made."""

    swap: tuple[str, ...] = ()
    """`A:B` each: beads of A become B. All at once: A:B and B:A change places."""
    merge_rare: int | None = None
    """A colour with fewer beads goes to the nearest that stays; None for no colour."""

    def check(self, palette: Palette) -> dict[int, int]:
        """What swaps mean in a palette. Raises OptionError for what makes no sense."""
        if self.merge_rare is not None and self.merge_rare < 1:
            raise OptionError("is not a number of beads", field="merge_rare", value=self.merge_rare)
        return parse_swaps(self.swap, palette, palette)


@dataclass(frozen=True, eq=False)
class Exchanged:
    """A plate with other beads in some places."""

    plate: Plate
    notes: tuple[str, ...]


def parse_swaps(swaps: tuple[str, ...], old: Palette, new: Palette) -> dict[int, int]:
    """Index in the old palette and in the new one of each `A:B`.

    Raises OptionError for what is not written so, for codes that are not there, and for two swaps
    of one colour.
    """
    found = dict[int, int]()
    for text in swaps:
        one, colon, two = (part.strip() for part in text.partition(":"))
        if not (one and colon and two):
            raise OptionError("is not CODE:CODE", field="swap", value=text, remedy="as in prt:stb")
        index = old.index(one, "swap")
        if index in found:
            raise OptionError(f"says twice what {one} becomes", field="swap")
        found[index] = new.index(two, "swap")
    return found


def exchange(
    plate: Plate, options: ExchangeOptions, limits: NDArray[np.int64] | None = None
) -> Exchanged:
    """Swap colours of a plate, then let rare ones go with those that stay.

    limits: (n,) beads that there are. Raises OptionError for wishes that make no sense, StockError
    when what comes out takes more beads than there are.
    """
    swaps, notes = options.check(plate.palette), list[str]()
    made = dict(plate.made)
    if swaps:
        notes += _swap_notes(plate, swaps)
        made["swap"] = " ".join(options.swap)
        plate = replace(plate, cells=exchanged(plate, swaps), made=made)
    if options.merge_rare is not None:
        made["merge_rare"] = options.merge_rare
        before = plate.counts()
        merged = merge_rare(plate, options.merge_rare)
        notes.append(_merge_note(plate.palette, before, merged.changed, options.merge_rare))
        plate = replace(merged.plate, made=made)
    if limits is not None and (swaps or options.merge_rare):
        _refuse_more_than(plate, limits)
    return Exchanged(plate, tuple(notes))


def _swap_notes(plate: Plate, swaps: Mapping[int, int]) -> list[str]:
    """What was swapped, and what the plate did not have."""
    code, counts = [bead.code for bead in plate.palette.beads], plate.counts()
    return [
        f"{many(int(counts[old]), 'bead')} of {code[old]}"
        f" {'is' if counts[old] == 1 else 'are'} {code[new]} now"
        if counts[old]
        else f"{code[old]}: nothing swapped; the plate has no bead of it"
        for old, new in swaps.items()
    ]


def _merge_note(
    palette: Palette, counts: NDArray[np.int64], changed: Mapping[int, int], fewer_than: int
) -> str:
    """How many colours there were and are, and which beads became which."""
    colours = int(np.count_nonzero(counts))
    if not changed:
        return f"no colour has fewer than {fewer_than} beads"
    code = [bead.code for bead in palette.beads]
    words = [f"{counts[old]} {code[old]} as {code[new]}" for old, new in changed.items()]
    more = f" and {len(words) - _MOST_NAMED} more" if len(words) > _MOST_NAMED else ""
    named = ", ".join(words[:_MOST_NAMED]) + more
    return f"{many(colours, 'colour')} became {colours - len(changed)}: {named}"


def _refuse_more_than(plate: Plate, limits: NDArray[np.int64]) -> None:
    """Raise StockError for the first colour of which there are not enough beads."""
    short = np.flatnonzero(plate.counts() > limits)
    if short.size:
        index = int(short[0])
        code, wanted = plate.palette.beads[index].code, plate.counts()[index]
        raise StockError(
            f"after `swap` and `merge_rare` the plate takes {wanted:,} beads of {code}, and"
            f" {limits[index]:,} are there"
        )
