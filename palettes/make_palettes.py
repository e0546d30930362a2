"""Write the palettes of this folder, each from rules that stand below.

    python palettes/make_palettes.py [FOLDER]

Rules of the three palettes of our own
    Space: lightness is CIE L*, chroma and hue are those of OKLCh (see `img2plate.colour.spaces`).
    Gamut: pigmented plastic. L* from 12 (a black bead still shines) to 95 (white plastic is no
        paper). Chroma at most a share of what sRGB holds at that lightness and hue: 0.97 around
        orange, where pigments are strongest, falling as a cosine to 0.81 around blue. And never
        above 0.235 at red, falling as a cosine to 0.175 at cyan. The limits are our judgement by
        eye, not a measurement.
    Neutrals: nine even steps of L* from 95 to 12, chroma 0.
    Bases: a vivid ring of 16 hues in even steps of 22.5 degrees at full chroma, each at the
        lightness where it looks most itself (`_RING_LIGHTNESS`); a soft ring of 8 hues in even
        steps of 45 degrees at L* 58 and 0.4 of the chroma limit; five earths from L* 26 to 78 in
        even steps. Lightness knots, earth hues and shares were tuned until no two colours were
        nearer than 6 in CIEDE2000.
    Companions: each base has a lighter one (+), half way to L* 95 and paler (0.8 of its share of
        the limit), and a darker one (-), half way to L* 12. Hue turns by up to 10 degrees as it
        does by daylight: to the yellow side in the light, to the blue side in the dark.
    The small palettes are the same colours, fewer: `smallest` says from which palette on a
        colour is in.
    Codes: three letters of the name, then + or - for a companion.

`css-named` is the table of named colours of CSS Color Module Level 4, section 6.1.
"""

from __future__ import annotations

import csv
import io
import sys
from collections.abc import Iterable, Iterator
from functools import cache
from pathlib import Path
from typing import NamedTuple

import numpy as np

from img2plate.base.arrays import Floats
from img2plate.colour.palette import Bead
from img2plate.colour.spaces import (
    hex2srgb,
    linear2bytes,
    linear2lab,
    oklab2linear,
)

HERE = Path(__file__).resolve().parent
CSS_TABLE = HERE.parent / "tests" / "data" / "css-named-colours.csv"
LIGHTEST, DARKEST = 95.0, 12.0
OURS = {"quay-24": 24, "harbour-48": 48, "sea-96": 96}
_RING_HUE, _RING_STEP = 29.0, 22.5
_SOFT_HUE, _SOFT_STEP, _SOFT_LIGHTNESS, _SOFT_SHARE = 6.5, 45.0, 58.0, 0.4
_EARTHS_LIGHTNESS = (26.0, 78.0)
_RING_LIGHTNESS = (
    (6.5, 57), (29, 47), (51.5, 67), (74, 80), (96.5, 86), (119, 77), (141.5, 53), (164, 60),
    (186.5, 53), (209, 67), (231.5, 58), (254, 48), (276.5, 32), (299, 45), (321.5, 46), (344, 53),
)  # fmt: skip


class Hue(NamedTuple):
    """A base colour as the rules see it."""

    code: str
    name: str
    lightness: float
    share: float
    """Chroma as a share of the plastic's limit at this lightness and hue."""
    hue: float
    smallest: int


NEUTRALS = (
    ("gul", "gull white", 24), ("mst", "salt mist", 24), ("znc", "pale zinc", 48),
    ("pew", "pewter", 24), ("shp", "ship grey", 48), ("irn", "iron", 24),
    ("anc", "anchor grey", 48), ("sot", "soot", 24), ("tar", "tar black", 24),
)  # fmt: skip
RING = (
    ("prt", "port red", 24), ("buo", "buoy orange", 48), ("bek", "beak amber", 96),
    ("lmp", "lamp yellow", 24), ("smp", "samphire", 96), ("stb", "starboard green", 24),
    ("gla", "sea glass", 96), ("tel", "teal wing", 48), ("lag", "lagoon", 96),
    ("sky", "noon sky", 48), ("hbr", "harbour blue", 24), ("ens", "ensign blue", 96),
    ("dsk", "dusk violet", 24), ("urc", "urchin purple", 96), ("thr", "thrift pink", 96),
    ("ane", "anemone", 48),
)  # fmt: skip
SOFT = (
    ("brk", "worn brick", 96), ("dun", "dune", 96), ("klp", "kelp", 48), ("mar", "marram", 96),
    ("ver", "verdigris", 96), ("slt", "slate", 48), ("hea", "heather", 96), ("mal", "mallow", 96),
)  # fmt: skip
EARTHS = (
    ("mah", "mahogany", 0.6, 27, 96), ("oak", "oak", 0.7, 59, 24), ("rst", "rust", 0.95, 45, 96),
    ("drf", "driftwood", 0.15, 75, 96), ("shl", "shell", 0.6, 45, 48),
)  # fmt: skip


def bases() -> Iterator[Hue]:
    """Yield the 29 base colours: the vivid ring, the soft ring, the earths."""
    for i, (code, name, smallest) in enumerate(RING):
        hue = (_RING_HUE + _RING_STEP * i) % 360
        yield Hue(code, name, dict(_RING_LIGHTNESS)[hue], 1.0, hue, smallest)
    for i, (code, name, smallest) in enumerate(SOFT):
        yield Hue(
            code, name, _SOFT_LIGHTNESS, _SOFT_SHARE, (_SOFT_HUE + _SOFT_STEP * i) % 360, smallest
        )
    for light, (code, name, share, hue, smallest) in zip(
        np.linspace(*_EARTHS_LIGHTNESS, len(EARTHS)), EARTHS, strict=True
    ):
        yield Hue(code, name, float(light), share, hue, smallest)


def companions(base: Hue) -> tuple[Hue, Hue, Hue]:
    """Return the lighter companion, the base, the darker companion."""
    up = base.lightness + 0.5 * (LIGHTEST - base.lightness)
    down = base.lightness + 0.5 * (DARKEST - base.lightness)
    lighter = base._replace(code=base.code + "+", name="pale " + base.name, lightness=up)
    darker = base._replace(code=base.code + "-", name="deep " + base.name, lightness=down)
    return (
        lighter._replace(hue=turned(base.hue, 10.0), share=base.share * 0.8),
        base,
        darker._replace(hue=turned(base.hue, -10.0)),
    )


def turned(hue: float, degrees: float) -> float:
    """Turn a hue towards yellow (100 degrees), or away from it when `degrees` is negative.

    The turn is largest a quarter circle from yellow and fades at yellow and opposite to it, so
    neighbouring hues stay in order.
    """
    to_yellow = np.radians(100.0 - hue)
    return float((hue + degrees * np.sin(to_yellow)) % 360)


@cache
def chroma_limit(lightness: float, hue: float) -> float:
    """Return the largest OKLCh chroma of the plastic at an L* and a hue in degrees."""
    chroma = np.linspace(0, 0.4, 801)
    linear = lch2linear(lightness, chroma, hue)
    inside = ((linear >= -1e-6) & (linear <= 1 + 1e-6)).all(axis=-1)
    share = 0.89 + 0.08 * np.cos(np.radians(hue - 60))
    strongest = 0.205 + 0.03 * np.cos(np.radians(hue - 30))
    return float(min(share * chroma[np.argmin(inside) - 1], strongest))


def lch2linear(lightness: float, chroma: Floats, hue: float) -> Floats:
    """Convert L*, OKLCh chroma (n,) and hue in degrees to linear sRGB (n, 3), not clipped.

    OKLab's own lightness is found by bisection, as it and L* differ for strong colours.
    """
    a, b = chroma * np.cos(np.radians(hue)), chroma * np.sin(np.radians(hue))
    low, high = np.zeros_like(a), np.ones_like(a)
    for _ in range(40):
        middle = (low + high) / 2
        linear = oklab2linear(np.stack([middle, a, b], axis=-1))
        dark = linear2lab(linear)[:, 0] < lightness
        low, high = np.where(dark, middle, low), np.where(dark, high, middle)
    return linear


def bead(hue: Hue) -> Bead:
    """Turn a base or a companion into a bead."""
    chroma = hue.share * chroma_limit(hue.lightness, hue.hue)
    red, green, blue = linear2bytes(lch2linear(hue.lightness, np.array([chroma]), hue.hue))[0]
    return Bead(hue.code, hue.name, (int(red), int(green), int(blue)))


def ours(size: int) -> list[Bead]:
    """Return one of our palettes: neutrals from white to black, then the families."""
    steps = np.linspace(LIGHTEST, DARKEST, len(NEUTRALS))
    greys = [
        Hue(code, name, float(light), 0.0, 0.0, smallest)
        for light, (code, name, smallest) in zip(steps, NEUTRALS, strict=True)
    ]
    families = [hue for base in bases() for hue in companions(base)]
    return [bead(hue) for hue in greys + families if hue.smallest <= size]


def css_named() -> list[Bead]:
    """Return the named colours of the standard, in its order; code and name are the same."""
    lines = [x for x in CSS_TABLE.read_text("utf-8").splitlines() if not x.startswith("#")]
    return [Bead(row["name"], row["name"], hex2srgb(row["hex"])) for row in csv.DictReader(lines)]


def palette_text(name: str, origin: str, licence: str, beads: Iterable[Bead]) -> str:
    """Return the text of a palette file."""
    out = io.StringIO()
    out.write(f"# name: {name}\n# origin: {origin}\n# licence: {licence}\n# pitch: 5.0\n")
    out.write("# bead: 5.0 x 2.6 x 5.0 mm (outer, hole, height; from memory)\n")
    rows = csv.writer(out, lineterminator="\n")
    rows.writerow(["code", "name", "hex", "finish"])
    rows.writerows([b.code, b.name, b.hex, b.finish] for b in beads)
    return out.getvalue()


def palette_files() -> dict[str, str]:
    """Return the text of each palette file by its file name."""
    origin = "our own, made by the rules in make_palettes.py; no maker's colours"
    files = {
        f"{name}.csv": palette_text(name, origin, "CC0-1.0", ours(size))
        for name, size in OURS.items()
    }
    origin = "CSS Color Module Level 4 (W3C), section 6.1, named colours"
    licence = "facts of an open standard; this file CC0-1.0"
    files["css-named.csv"] = palette_text("css-named", origin, licence, css_named())
    return files


def main(folder: Path) -> None:
    """Write the palette files into a folder."""
    for name, text in palette_files().items():
        (folder / name).write_text(text, "utf-8", newline="\n")


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else HERE)
