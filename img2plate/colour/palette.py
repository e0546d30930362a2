"""The palette: the bead colours on offer, with their derived arrays."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from img2plate.base.bead import BeadSize, bead_size_for
from img2plate.base.errors import OptionError, PaletteError
from img2plate.base.near import did_you_mean
from img2plate.colour.spaces import linear2lab, linear2oklab, srgb2hex, srgb2linear


@dataclass(frozen=True)
class Bead:
    """One colour on offer."""

    code: str
    """Short and unique within its palette."""
    name: str
    srgb: tuple[int, int, int]
    finish: str = "solid"
    lighter: str = ""
    """Code of the lighter companion, when the palette file names its own."""
    darker: str = ""
    """Code of the darker one."""

    @property
    def hex(self) -> str:
        """The colour as `#RRGGBB`."""
        return srgb2hex(self.srgb)


@dataclass(frozen=True)
class Palette:
    """Bead colours in their file's order. Two codes of one colour are legal: the first wins."""

    name: str
    beads: tuple[Bead, ...]
    pitch_mm: float = 5.0
    bead_size: BeadSize = field(default_factory=BeadSize)
    note: str = ""
    """Origin and licence, as one line."""

    def __len__(self) -> int:
        return len(self.beads)

    def with_pitch(self, pitch_mm: float) -> Palette:
        """Return the same colours for another pitch, with the bead that goes with it."""
        if pitch_mm == self.pitch_mm:
            return self
        return replace(self, pitch_mm=pitch_mm, bead_size=bead_size_for(pitch_mm))

    @cached_property
    def srgb(self) -> NDArray[np.uint8]:
        """(n, 3) uint8 sRGB."""
        return np.array([bead.srgb for bead in self.beads], dtype=np.uint8).reshape(-1, 3)

    @cached_property
    def linear(self) -> NDArray[np.float64]:
        """(n, 3) float64 linear light 0..1."""
        return np.asarray(srgb2linear(self.srgb / 255.0), dtype=np.float64)

    @cached_property
    def lab(self) -> NDArray[np.float64]:
        """(n, 3) float64 CIELAB."""
        return np.asarray(linear2lab(self.linear), dtype=np.float64)

    @cached_property
    def oklab(self) -> NDArray[np.float64]:
        """(n, 3) float64 OKLab."""
        return np.asarray(linear2oklab(self.linear), dtype=np.float64)

    @cached_property
    def by_code(self) -> dict[str, int]:
        """Index of each code."""
        return {bead.code: index for index, bead in enumerate(self.beads)}

    @cached_property
    def by_srgb(self) -> dict[tuple[int, int, int], int]:
        """Index of each colour; of two codes with one colour, the first."""
        return {bead.srgb: i for i, bead in reversed(list(enumerate(self.beads)))}

    def index(self, code: str, field: str) -> int:
        """Index of a code. Raises OptionError that names the field it came from, and near codes."""
        if code not in self.by_code:
            raise OptionError(
                f"palette {self.name} has no colour with code {code!r}",
                field=field,
                remedy=did_you_mean(code, self.by_code),
            )
        return self.by_code[code]

    def only(self, codes: Iterable[str]) -> Palette:
        """Return the palette of the given codes, in their order here.

        Raises PaletteError for a code that is not here.
        """
        wanted = set(codes)
        if unknown := sorted(wanted - self.by_code.keys()):
            raise PaletteError(f"palette {self.name} has no colour with code {unknown[0]!r}")
        return replace(self, beads=tuple(bead for bead in self.beads if bead.code in wanted))
