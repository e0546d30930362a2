"""All that a run can be told, in one place that any front end can fill."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

from img2plate.base.credit import Credit
from img2plate.base.errors import OptionError
from img2plate.base.lengths import A4, USUAL_BOARD, Board, Paper
from img2plate.base.printer import TRUE_RULERS, USUAL_MARGIN_MM, Rulers
from img2plate.colour.palette import Palette
from img2plate.colour.palette_file import find_palette
from img2plate.image.sizing import Fit, SizeWish
from img2plate.image.source_options import SourceOptions
from img2plate.plate.exchange import ExchangeOptions
from img2plate.plate.finish.finish import FinishOptions
from img2plate.plate.limits.choice import ChoiceOptions
from img2plate.plate.scatter import ScatterOptions
from img2plate.plate.shade.shading import ShadingOptions
from img2plate.split.cuts import SMALLEST_TILE
from img2plate.split.rounds_by_hand import Names
from img2plate.tally.bags import Bags
from img2plate.tally.effort import USUAL_PACE

DEFAULT_PALETTE = "harbour-48"
Progress = Callable[[str, float], None]
"""Told the stage, in plain words, and how much of the run is done, 0..1."""


@dataclass(frozen=True)
class PackOptions:
    """How a plate is cut, counted and printed."""

    out: Path = Path("packs")
    board: Board = USUAL_BOARD
    pitch_mm: float | None = None
    """None: the palette's own."""
    paper: Paper = A4
    thickness_mm: float = 4.0
    spare_percent: float = 5.0
    pace: float = USUAL_PACE
    """Beads an hour, for the estimate of hours: see `tally.effort`."""
    seams: str = "full"
    """full, even or quiet: see `split.cuts`; or where they lie: see `split.by_hand`."""
    smallest_tile: int = SMALLEST_TILE
    """Pegs that a tile keeps at least, with quiet seams."""
    boards_owned: int | None = None
    """None: as many as the plate needs."""
    rounds: Names | None = None
    """Which boards are built in which round, by hand: see `split.rounds_by_hand`."""
    front: str = "iron-side"
    """The side that is seen: iron-side, or board-side, which mirrors the sheets."""
    printer_measured: Rulers = TRUE_RULERS
    margin_mm: float = USUAL_MARGIN_MM
    runs: bool = False
    """Also pages that read out each row."""
    template: bool = False
    """Also `template.pdf`: numbers of roles in the cells, and a page to choose their beads on."""
    bags: Bags | None = None
    """What beads are sold in; None when it does not matter."""
    zip: bool = False
    """Also the pack as one zip file."""
    credit: Credit = field(default_factory=Credit)
    """Title, author and licence for the plate document; what is empty stays as the plate says."""


@dataclass(frozen=True)
class SizeOptions:
    """How large the plate is to be: one of these ways, or none."""

    width: int | None = None
    """Beads; the height follows from the picture unless it is given too."""
    height: int | None = None
    size: tuple[int, int] | None = None
    """Beads wide and high, to fit into."""
    boards: tuple[int, int] | None = None
    """Boards across and down, to fit on."""
    mm: tuple[float, float] | None = None
    """Width and height, to fit into."""
    fit: Fit | None = None

    def wish(self, board: Board, pitch_mm: float) -> SizeWish | None:
        """Turn into beads. Raises OptionError when ways are mixed, or a value makes no sense."""
        one_side = self.width is not None or self.height is not None
        if sum(way is not None for way in (self.size, self.boards, self.mm)) + one_side > 1:
            raise OptionError("give only one of `width`/`height`, `size`, `boards` and `mm`")
        if self.size:
            return SizeWish(_side(self.size[0], "size"), _side(self.size[1], "size"), self.fit)
        if self.boards:
            across, down = (_side(count, "boards", "boards") for count in self.boards)
            return SizeWish(across * board.across, down * board.down, self.fit)
        if self.mm:
            wide, high = (_beads_in(mm, pitch_mm) for mm in self.mm)
            return SizeWish(wide, high, self.fit)
        if one_side:
            return SizeWish(_side(self.width, "width"), _side(self.height, "height"), self.fit)
        if self.fit:
            raise OptionError(
                "needs both measures", field="fit", remedy="also give `size` (or `boards`, or `mm`)"
            )
        return None


@dataclass(frozen=True)
class SeveralOptions:
    """Which of the sprites or frames in one file."""

    apart: bool = False
    """Whether the picture shows several sprites, of which each is made."""
    gap: int | None = None
    """Empty cells up to which parts are one sprite; None to tell by the picture."""
    frame: int | str | None = None
    """Number of an animation's frame, from 1, or `all`; None for the first."""

    def check(self) -> None:
        """Raise OptionError for what makes no sense."""
        if self.gap is not None and not self.apart:
            raise OptionError("is for `apart`", field="gap", value=self.gap, remedy="give both")
        if self.gap is not None and self.gap < 0:
            raise OptionError("is below 0", field="gap", value=self.gap)
        if isinstance(self.frame, str) and self.frame != "all":
            raise OptionError("is not a number or all", field="frame", value=self.frame)
        if self.apart and self.frame == "all":
            raise OptionError(
                "takes one frame with `apart`", field="frame", value=self.frame, remedy="name it"
            )


@dataclass(frozen=True)
class MakeOptions:
    """All that `make` can be told."""

    palette: str = DEFAULT_PALETTE
    source: SourceOptions = field(default_factory=SourceOptions)
    several: SeveralOptions = field(default_factory=SeveralOptions)
    size: SizeOptions = field(default_factory=SizeOptions)
    shading: ShadingOptions = field(default_factory=ShadingOptions)
    choice: ChoiceOptions = field(default_factory=ChoiceOptions)
    exchange: ExchangeOptions = field(default_factory=ExchangeOptions)
    stock: Path | None = None
    """The stock file whose counts are a hard limit; None for beads without end."""
    stock_advice: bool = False
    """Whether to tell which purchases would improve the plate most."""
    viewing_distance_m: float | None = None
    """None: twice the plate's diagonal, at least 0.5 m."""
    pack: PackOptions = field(default_factory=PackOptions)
    scatter: ScatterOptions = field(default_factory=ScatterOptions)
    finish: FinishOptions = field(default_factory=FinishOptions)


def palette_for(name: str, pitch_mm: float | None) -> Palette:
    """Find a palette, for the pitch that is asked for."""
    return with_pitch(find_palette(name), pitch_mm)


def with_pitch(palette: Palette, pitch_mm: float | None) -> Palette:
    """Check a pitch and apply it; None leaves the palette's own."""
    if pitch_mm is None:
        return palette
    if not 0.5 <= pitch_mm <= 50:
        raise OptionError("is not from 0.5 to 50 mm", field="pitch_mm", value=pitch_mm)
    return palette.with_pitch(pitch_mm)


def quiet(stage: str, done: float) -> None:
    """Tell nobody."""


def _beads_in(mm: float, pitch_mm: float) -> int:
    """How many whole beads lie in a length, at least 1."""
    return max(1, int(mm / pitch_mm + 1e-9))  # 58 x 2.6 = 150.8 must give 58, not 57.99...


def _side(value: int | None, field: str, what: str = "beads") -> int:
    """Check one measure; 0 stands for 'follows from the other'."""
    if value is not None and value < 1:
        raise OptionError(
            f"is not a number of {what}", field=field, value=value, remedy="give at least 1"
        )
    return value or 0


@dataclass(frozen=True)
class FigureOptions:
    """How a figure's pack is made."""

    palette: str = ""
    """Takes the place of the file's."""
    colourway: str = ""
    stock: Path | None = None
    """The stock file that is to cover the figure, spare beads included; what is missing is told."""
    plates: Path | None = None
    """A folder of plates that were touched up, called as in the pack; others are as described."""
    pack: PackOptions = field(default_factory=PackOptions)
    """Boards, counts and paper as for flat plates; pitch and thickness are the figure's own."""
