"""How many beads wide and high: arithmetic only, no pixels.

A `SizeWish` says what the user asked for; `frame` answers with a `Framing`: the plate's size, and
the rectangle of the picture that is laid over it (which may reach outside the picture).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, NamedTuple

from img2plate.base.errors import OptionError, SizeError
from img2plate.image.native.native_grid import MOST_NATIVE_SIDE

Fit = Literal["cover", "contain", "stretch"]
MOST_BEADS = 4_000_000
"""About 4,700 boards of 29 x 29."""
LONG_SIDE = 58
"""Beads on the long side of what is no sprite when no size is wished: two boards of 29."""


@dataclass(frozen=True)
class SizeWish:
    """Beads wide and high; 0 where it follows from the other and the picture's aspect."""

    width: int = 0
    height: int = 0
    fit: Fit | None = None
    """None: keep the aspect, and make the plate as large as fits into width x height."""


@dataclass(frozen=True)
class Framing:
    """A plate's size, and what part of the picture goes on it."""

    size: tuple[int, int]
    """Width and height in beads."""
    box: tuple[float, float, float, float]
    """Left, top, right, bottom in picture pixels."""

    @property
    def step(self) -> tuple[float, float]:
        """Picture pixels per bead, across and down."""
        left, top, right, bottom = self.box
        return (right - left) / self.size[0], (bottom - top) / self.size[1]


def frame(picture: tuple[int, int], wish: SizeWish) -> Framing:
    """Lay a picture of (width, height) pixels over a plate of the wished size.

    Raises SizeError for a plate of no beads or too many, OptionError for a `fit` with one measure.
    """
    width, height = wish.width, wish.height
    if min(width, height) < 0 or not (width or height):
        raise SizeError("a plate needs at least 1 bead; give `width`, `height` or `size` over 0")
    if wish.fit and not (width and height):
        raise OptionError(
            "needs both measures", field="fit", remedy="also give `size` (or `boards`, or `mm`)"
        )
    aspect = picture[0] / picture[1]
    whole = (0.0, 0.0, float(picture[0]), float(picture[1]))
    if not wish.fit:
        size = _keep_aspect(aspect, width, height)
        _check(size)
        return Framing(size, whole)
    _check((width, height))
    if wish.fit == "stretch":
        return Framing((width, height), whole)
    return Framing((width, height), _same_aspect_box(picture, (width, height), wish.fit))


def frame_averaged(picture: tuple[int, int], wish: SizeWish | None) -> Framing:
    """As `frame`, for a drawing or a photo: of usual size without a wish, a small one as it is."""
    if wish is None and max(picture) <= MOST_NATIVE_SIDE:
        wish = SizeWish(*picture, "stretch")
    return frame(picture, wish or SizeWish(LONG_SIDE, LONG_SIDE))


def frame_sprite(picture: tuple[int, int], wish: SizeWish | None) -> Framing:
    """As `frame`, for a sprite: one bead a pixel without a wish, else whole multiples if they fit.

    Into a box of both measures goes the largest whole multiple that fits, centred with
    `fit="contain"`. One measure alone is taken at its word, and so are cover and stretch.
    """
    width, height = picture
    if wish is None:
        wish = SizeWish(width, height, "stretch")
    times = min(wish.width // width, wish.height // height)
    if times < 1 or wish.fit in ("cover", "stretch"):
        return frame(picture, wish)
    if wish.fit is None:
        return frame(picture, SizeWish(width * times, height * times, "stretch"))
    _check((wish.width, wish.height))
    # Whole pixels on each side: half a cell of margin would put pixels between the pegs.
    left = (wish.width - width * times) // 2 / times
    top = (wish.height - height * times) // 2 / times
    box = (-left, -top, wish.width / times - left, wish.height / times - top)
    return Framing((wish.width, wish.height), box)


def _keep_aspect(aspect: float, width: int, height: int) -> tuple[int, int]:
    """Return the largest size of the picture's aspect in width x height (0 = no limit)."""
    if not height or (width and width / aspect <= height):
        return width, max(1, round(width / aspect))
    return max(1, round(height * aspect)), height


def _same_aspect_box(
    picture: tuple[int, int], size: tuple[int, int], fit: Fit
) -> tuple[float, float, float, float]:
    """Centre a box of the plate's aspect: inside the picture (cover), or around it (contain)."""
    across, down = picture[0] / size[0], picture[1] / size[1]
    step = min(across, down) if fit == "cover" else max(across, down)
    half_width, half_height = size[0] * step / 2, size[1] * step / 2
    x, y = picture[0] / 2, picture[1] / 2
    return x - half_width, y - half_height, x + half_width, y + half_height


def _check(size: tuple[int, int]) -> None:
    """Refuse a plate of too many beads."""
    if size[0] * size[1] > MOST_BEADS:
        raise SizeError(
            f"{size[0]} x {size[1]} beads is over the limit of {MOST_BEADS:,}; make it smaller"
        )


class CropBox(NamedTuple):
    """Part of a picture, in pixels."""

    x: int
    y: int
    width: int
    height: int

    def check(self, picture: tuple[int, int], field: str = "crop") -> None:
        """Raise OptionError when it does not lie in a picture of (width, height) pixels."""
        if not (
            self.width
            and self.height
            and self.x + self.width <= picture[0]
            and self.y + self.height <= picture[1]
        ):
            raise OptionError(
                f"does not lie in the picture of {picture[0]} x {picture[1]} pixels",
                field=field,
                value=",".join(map(str, self)),
            )


def parse_crop(text: str) -> CropBox | Literal["auto"]:
    """Read `X,Y,W,H` in pixels, or `auto` for the part with a grid. Raises OptionError."""
    return "auto" if text == "auto" else parse_box(text, "crop", "auto, or ")


def parse_box(text: str, field: str = "subject", also: str = "") -> CropBox:
    """Read `X,Y,W,H` in pixels; `also` names what else may be given. Raises OptionError."""
    parts = text.split(",")
    if len(parts) != 4 or not all(part.strip().isdigit() for part in parts):
        raise OptionError(
            f"is not {also}four whole numbers X,Y,W,H, as in 10,20,300,200",
            field=field,
            value=text,
        )
    x, y, width, height = (int(part) for part in parts)
    return CropBox(x, y, width, height)
