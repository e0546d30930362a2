"""Ten drawings of our own, and open clip art, for looking at what becomes of drawings.

Ours are drawn four times as large and averaged, so that edges are soft. Clip art comes
from a Debian package (`kinds_files`); every third is kept unseen while tuning.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from math import cos, pi, sin

import numpy as np
from kinds_drawn import FINER, Pen, drawn
from kinds_files import clip_art, rendered
from PIL import Image

SIDE = 512
NAVY, RED, CREAM, GREEN, SAND, SKY = (
    "#16324f",
    "#b8352b",
    "#f4efe2",
    "#2f7d55",
    "#e3c48a",
    "#bcd8e6",
)
INK, WHITE, AMBER = "#1c1c20", "#ffffff", "#f0b323"


def _lighthouse(pen: Pen) -> None:
    """Line art in ink alone."""
    pen.path(INK, (42, 34), (36, 90), (64, 90), (58, 34), (42, 34))
    pen.path(INK, (39, 62), (61, 62), line=1)
    pen.path(INK, (40.5, 48), (59.5, 48), line=1)
    pen.path(INK, (37.5, 76), (62.5, 76), line=1)
    pen.path(INK, (38, 34), (62, 34))
    pen.path(INK, (44, 34), (44, 20), (56, 20), (56, 34))
    pen.path(INK, (42, 20), (50, 10), (58, 20), (42, 20))
    for turn in (-0.35, 0.0, 0.35):
        for way in (-1, 1):
            x, y = way * cos(turn), sin(turn)
            pen.path(INK, (50 + 14 * x, 27 + 14 * y), (50 + 32 * x, 27 + 32 * y), line=0.8)
    pen.path(INK, (8, 90), (92, 90))
    for x in (16, 34, 52, 70, 88):
        pen.arc(INK, x, 99, 7, 220, 320)


def _sign(pen: Pen) -> None:
    """Lettering."""
    pen.word(NAVY, "PIER 7", 50, 34, 26)
    pen.word(RED, "lamps & oars", 50, 62, 13)
    pen.path(NAVY, (10, 78), (90, 78), line=1)


def _pennant(pen: Pen) -> None:
    pen.path(INK, (18, 6), (18, 96), line=3)
    pen.area(RED, (19, 10), (94, 32), (19, 54))
    pen.area(CREAM, (19, 22.5), (94, 32), (19, 41.5))
    pen.disc(NAVY, 34, 32, 7)


def _rose(pen: Pen) -> None:
    """A compass rose, symmetric both ways."""
    pen.disc(None, 50, 50, 44, rim=NAVY)
    pen.disc(None, 50, 50, 34, rim=NAVY)
    for turn, length in ((1, 28), (3, 28), (0, 42), (2, 42)):
        for half in (0, 4):
            a = (turn + half) * pi / 4 - pi / 2
            tip = 50 + length * cos(a), 50 + length * sin(a)
            for side, colour in ((-1, NAVY), (1, RED if length > 30 else SAND)):
                b = a + side * pi / 4
                pen.area(colour, (50, 50), (50 + 9 * cos(b), 50 + 9 * sin(b)), tip)


def _gull(pen: Pen) -> None:
    """Thick outlines round flat fills."""
    pen.line = 2.6
    body = [(20, 60), (30, 50), (44, 47), (56, 40), (62, 28), (74, 24), (80, 32), (76, 46),
            (66, 60), (52, 68), (36, 68), (20, 60)]  # fmt: skip
    pen.area(WHITE, *body)
    pen.area("#9aa7b2", (24, 58), (40, 48), (56, 48), (48, 60), (30, 63))
    pen.path(INK, *body)
    pen.area(AMBER, (79, 30), (93, 35), (79, 39))
    pen.path(INK, (79, 30), (93, 35), (79, 39), line=1.8)
    pen.disc(INK, 72, 32, 1.7)
    for x in (44, 52):
        pen.path(AMBER, (x, 68), (x, 86), (x + 6, 86), line=2.2)


def _buoy(pen: Pen) -> None:
    pen.area(RED, (38, 30), (62, 30), (72, 74), (28, 74))
    pen.area(CREAM, (36, 40), (64, 40), (66.4, 51), (33.6, 51))
    pen.area(CREAM, (31.3, 62), (68.7, 62), (71.4, 74), (28.6, 74))
    pen.area(INK, (22, 74), (78, 74), (72, 84), (28, 84))
    pen.path(INK, (50, 30), (50, 14), line=2)
    pen.disc(AMBER, 50, 12, 5)
    pen.area("#2b6f9c", (0, 84), (100, 84), (100, 100), (0, 100))


def _shore(pen: Pen) -> None:
    """A flat landscape."""
    pen.area(SKY, (0, 0), (100, 0), (100, 100), (0, 100))
    pen.disc(AMBER, 78, 20, 9)
    pen.area("#7fb27a", (0, 66), (22, 52), (44, 60), (70, 48), (100, 62), (100, 100), (0, 100))
    pen.area(GREEN, (0, 78), (30, 68), (64, 80), (100, 72), (100, 100), (0, 100))
    pen.area(WHITE, (30, 46), (52, 46), (52, 68), (30, 68))
    pen.area(RED, (27, 46), (41, 34), (55, 46))
    pen.area("#6b4a35", (38, 57), (44, 57), (44, 68), (38, 68))
    for x in (33, 46):
        pen.area("#3d6d92", (x, 50), (x + 3.5, 50), (x + 3.5, 54), (x, 54))


def _map(pen: Pen) -> None:
    """Grey and black only."""
    pen.area("#d9d9d9", (0, 0), (100, 0), (100, 100), (0, 100))
    pen.area("#9c9c9c", (0, 54), (30, 48), (48, 60), (40, 100), (0, 100))
    pen.area("#6e6e6e", (66, 0), (100, 0), (100, 40), (84, 36), (74, 18))
    pen.path("#101010", (0, 54), (30, 48), (48, 60), (40, 100), line=1.6)
    pen.path("#101010", (66, 0), (74, 18), (84, 36), (100, 40), line=1.6)
    pen.path("#ffffff", (0, 20), (40, 26), (60, 52), (100, 70), line=2.4)
    pen.disc("#101010", 58, 78, 4)
    pen.word("#101010", "BAY", 76, 88, 12)


def _boat(pen: Pen) -> None:
    """A boat in thin lines of three colours."""
    pen.path(NAVY, (10, 68), (90, 68), (76, 84), (24, 84), (10, 68), line=1.2)
    pen.path(NAVY, (48, 8), (48, 68), line=1.2)
    pen.path(RED, (48, 12), (48, 60), (18, 60), (48, 12), line=1)
    pen.path(GREEN, (52, 22), (52, 60), (80, 60), (52, 22), line=1)
    pen.path("#2b7fb8", (4, 92), (20, 89), (36, 93), (54, 89), (72, 93), (96, 90), line=1)


def _anchor(pen: Pen) -> None:
    """A logo, symmetric."""
    pen.disc(NAVY, 50, 50, 46)
    pen.disc(CREAM, 50, 50, 41)
    pen.line = 4
    pen.disc(None, 50, 22, 7, rim=NAVY)
    pen.path(NAVY, (50, 29), (50, 80), line=5)
    pen.path(NAVY, (36, 38), (64, 38))
    pen.arc(NAVY, 50, 54, 27, 15, 165)
    for way in (-1, 1):
        x = 50 + way * 25
        pen.area(RED, (x - 7, 62), (x + 7, 62), (x + way * 3, 50))


DRAWINGS: dict[str, tuple[Callable[[Pen], None], str]] = {
    "anchor": (_anchor, "#00000000"), "lighthouse": (_lighthouse, CREAM), "sign": (_sign, WHITE),
    "pennant": (_pennant, SKY), "rose": (_rose, CREAM), "gull": (_gull, SKY),
    "buoy": (_buoy, "#dcebf2"), "shore": (_shore, SKY), "map": (_map, "#d9d9d9"),
    "boat": (_boat, WHITE),
}  # fmt: skip


def drawing(name: str, side: int = SIDE) -> np.ndarray:
    """One of our own (side, side, 4)."""
    draw, paper = DRAWINGS[name]
    image = Image.new("RGBA", (side * FINER, side * FINER), paper)
    draw(Pen(image, 1.6))
    small = image.convert("RGBa").resize((side, side), Image.Resampling.BOX).convert("RGBA")
    return np.array(small)


_FOLDERS = ("food", "recreation", "transportation", "tools", "signs_and_symbols", "buildings")


def found_drawings(unseen: bool) -> Iterator[tuple[str, np.ndarray]]:
    """Open clip art, about ten; or five that are kept unseen."""
    files = [p for p in clip_art() if any(folder in p.parts for folder in _FOLDERS)]
    for number, path in enumerate(files[5 :: max(1, len(files) // 15)][:15]):
        pixels = rendered(path, 400) if (number % 3 == 2) == unseen else None
        if pixels is not None:
            yield path.stem, pixels


def ours() -> Iterator[tuple[str, np.ndarray]]:
    """The ten above; and a badge of the set of kinds."""
    for name in DRAWINGS:
        yield name, drawing(name)
    yield "badge", drawn("badge", 320, 1)
