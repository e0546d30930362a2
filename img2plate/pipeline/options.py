"""All that a run can be told, in one place that any front end can fill."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

from img2plate.base.errors import OptionError
from img2plate.base.lengths import parse_mm_pair, parse_pair
from img2plate.colour.palette import Palette
from img2plate.colour.palette_file import find_palette
from img2plate.image.sizing import Fit, SizeWish
from img2plate.image.target import SourceOptions
from img2plate.plate.limits.choice import ChoiceOptions
from img2plate.plate.scatter import ScatterOptions
from img2plate.plate.shade.shading import ShadingOptions
from img2plate.tally.counts import SECONDS_PER_BEAD
from img2plate.typeset.pack import SheetOptions

DEFAULT_PALETTE = "harbour-48"
Progress = Callable[[str, float], None]
"""Told the stage, in plain words, and how much of the run is done, 0..1."""


@dataclass(frozen=True)
class PackOptions:
    """How a plate is cut, counted and printed."""

    out: Path = Path("packs")
    board: str = "29x29"
    pitch_mm: float | None = None
    """None: the palette's own."""
    paper: str = "A4"
    thickness_mm: float = 4.0
    spare_percent: float = 5.0
    seconds_per_bead: float = SECONDS_PER_BEAD
    sheets: SheetOptions = field(default_factory=SheetOptions)
    """Seams, rounds, which side is seen, printer, bags."""


@dataclass(frozen=True)
class SizeOptions:
    """How large the plate is to be: one of these ways, or none."""

    width: int | None = None
    height: int | None = None
    size: str = ""
    boards: str = ""
    mm: str = ""
    fit: Fit | None = None

    def wish(self, board: tuple[int, int], pitch_mm: float) -> SizeWish | None:
        """Turn into beads. Raises OptionError when ways are mixed, or a value makes no sense."""
        one_side = self.width is not None or self.height is not None
        ways = [bool(self.size), bool(self.boards), bool(self.mm), one_side]
        if sum(ways) > 1:
            raise OptionError(
                "--width/--height, --size, --boards and --mm exclude each other; give one of them"
            )
        if self.size:
            return SizeWish(*parse_pair(self.size, "--size"), self.fit)
        if self.boards:
            across, down = parse_pair(self.boards, "--boards")
            return SizeWish(across * board[0], down * board[1], self.fit)
        if self.mm:
            wide, high = parse_mm_pair(self.mm, "--mm")
            return SizeWish(_beads_in(wide, pitch_mm), _beads_in(high, pitch_mm), self.fit)
        if one_side:
            return SizeWish(_side(self.width, "--width"), _side(self.height, "--height"), self.fit)
        if self.fit:
            raise OptionError("--fit needs both measures; give --size WxH (or --boards, or --mm)")
        return None


@dataclass(frozen=True)
class MakeOptions:
    """All that `make` can be told."""

    palette: str = DEFAULT_PALETTE
    source: SourceOptions = field(default_factory=SourceOptions)
    size: SizeOptions = field(default_factory=SizeOptions)
    shading: ShadingOptions = field(default_factory=ShadingOptions)
    choice: ChoiceOptions = field(default_factory=ChoiceOptions)
    stock: Path | None = None
    """The stock file whose counts are a hard limit; None for beads without end."""
    stock_advice: bool = False
    """Whether to tell which purchases would improve the plate most."""
    viewing_distance_m: float | None = None
    """None: twice the plate's diagonal, at least 0.5 m."""
    pack: PackOptions = field(default_factory=PackOptions)
    scatter: ScatterOptions = field(default_factory=ScatterOptions)


def palette_for(name: str, pitch_mm: float | None) -> Palette:
    """Find a palette, for the pitch that is asked for."""
    return with_pitch(find_palette(name), pitch_mm)


def with_pitch(palette: Palette, pitch_mm: float | None) -> Palette:
    """Check a pitch and apply it; None leaves the palette's own."""
    if pitch_mm is None:
        return palette
    if not 0.5 <= pitch_mm <= 50:
        raise OptionError(f"--pitch: {pitch_mm:g} mm is not from 0.5 to 50")
    return palette.with_pitch(pitch_mm)


def quiet(stage: str, done: float) -> None:
    """Tell nobody."""


def _beads_in(mm: float, pitch_mm: float) -> int:
    """How many whole beads lie in a length, at least 1."""
    return max(1, int(mm / pitch_mm + 1e-9))  # 58 x 2.6 = 150.8 must give 58, not 57.99...


def _side(value: int | None, option: str) -> int:
    """Check one measure; 0 stands for 'follows from the other'."""
    if value is not None and value < 1:
        raise OptionError(f"{option}: {value} is no number of beads; give at least 1")
    return value or 0
