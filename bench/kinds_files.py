"""Files for the set of kinds, from open Debian packages and PyPI wheels, fetched on first use.

- icon themes: tango-icon-theme (public domain), gnome-icon-theme (GPL), oxygen-icon-theme (LGPL),
  mate-icon-theme (GPL), adwaita-icon-theme (LGPL, CC BY-SA 3.0), faenza-icon-theme (GPL),
  lxde-icon-theme (LGPL);
- fonts: fonts-noto-color-emoji (OFL), its bitmaps of 128 px; fonts-symbola (free licence);
- drawings: openclipart-svg (public domain), rendered by rsvg-convert (Debian: librsvg2-bin);
- photos: opencv-doc's example pictures (BSD and others, see its copyright file), mate-backgrounds
  (CC BY-SA, GPL), lomiri-wallpapers-16.04 (CC BY-SA 3.0); scikit-image's and scikit-learn's own;
- photos and drawings that were cut out: tuxpaint-stamps-default (several free licences).

Set-up, once: `apt-get install librsvg2-bin`; all else is unpacked into bench/out/kinds/ (300 MB).
"""

from __future__ import annotations

import csv
import subprocess
from pathlib import Path

import numpy as np
from photo_set import photo
from PIL import Image, ImageDraw, ImageFont

OUT = Path(__file__).parent / "out" / "kinds"
ICONS = Path("usr/share/icons")
CLIP_ART = Path("usr/share/openclipart/svg")
EXAMPLES = Path("usr/share/doc/opencv-doc/examples")
WANTED = (".png", ".jpg", ".svg", ".ttf")
SAMPLES = Path(__file__).parent.parent / "sample_inputs"


def debian(package: str) -> Path:
    """Download and unpack a Debian package; where it lies."""
    folder = OUT / package
    if not folder.exists():
        OUT.mkdir(parents=True, exist_ok=True)
        subprocess.run(["apt-get", "download", "-qq", package], check=True, cwd=OUT)
        archive = next(OUT.glob(f"{package}_*.deb"))
        subprocess.run(["dpkg", "-x", archive, folder], check=True)
        archive.unlink()
        for path in folder.rglob("*"):
            if path.is_file() and path.suffix not in WANTED:
                path.unlink()
    return folder


def opened(path: Path) -> np.ndarray:
    """Read a picture file: (h, w, 4) uint8, what is see-through black."""
    with Image.open(path) as image:
        return cleared(np.array(image.convert("RGBA")))


def cleared(pixels: np.ndarray) -> np.ndarray:
    """Black where nothing is seen, as most programs write it."""
    pixels[pixels[..., 3] == 0] = 0
    return pixels


def theme(package: str, folder: str, *sides: str) -> list[Path]:
    """Icons of a theme at some sizes, without links to others, by name."""
    root = debian(package) / ICONS / folder
    return sorted(
        path
        for path in root.rglob("*.png")
        if not path.is_symlink() and any(side in path.parts for side in sides)
    )


def clip_art() -> list[Path]:
    """Vector drawings by name, without patterns, stars and arrows by the hundred."""
    root = debian("openclipart-svg") / CLIP_ART
    named = ("food", "recreation", "transportation", "tools", "signs_and_symbols", "people",
             "office", "buildings", "plants", "geography", "animals")  # fmt: skip
    files = sorted(p for name in named for p in (root / name).rglob("*.svg"))
    return [p for p in files if p.stat().st_size < 300_000 and not p.is_symlink()]


def rendered(svg: Path, width: int) -> np.ndarray | None:
    """A vector drawing at a width, by rsvg-convert; kept for the next time. None if it cannot."""
    kept = OUT / "rendered" / f"{svg.stem}-{width}.png"
    if not kept.exists():
        kept.parent.mkdir(parents=True, exist_ok=True)
        command = ["rsvg-convert", "--keep-aspect-ratio", "--width", str(width), "--height",
                   str(width), "--output", str(kept), str(svg)]  # fmt: skip
        if subprocess.run(command, check=False, capture_output=True, timeout=60).returncode:
            return None
    pixels = opened(kept)
    return pixels if min(pixels.shape[:2]) >= 16 and pixels[..., 3].any() else None


def cut_outs() -> list[tuple[str, str, np.ndarray]]:
    """Name, kind and picture of things on a see-through ground; kinds were told by eye."""
    root = debian("tuxpaint-stamps-default") / "usr/share/tuxpaint/stamps"
    with (Path(__file__).parent / "cut_out.csv").open() as file:
        next(file)  # the source
        rows = list(csv.DictReader(file))
    return [(Path(row["path"]).stem, row["kind"], opened(root / row["path"])) for row in rows]


def emoji(character: str) -> Image.Image:
    """One of Noto's colour bitmaps, 136 x 128 px."""
    file = next(debian("fonts-noto-color-emoji").rglob("NotoColorEmoji.ttf"))
    image = Image.new("RGBA", (136, 128))
    font = ImageFont.truetype(str(file), 109)
    ImageDraw.Draw(image).text((0, 0), character, font=font, embedded_color=True)
    return image


def symbol(character: str, side: int, ink: str, paper: str) -> np.ndarray:
    """A sign of Symbola's, its long side `side` px, with soft edges."""
    file = next(debian("fonts-symbola").rglob("*.ttf"))
    font = ImageFont.truetype(str(file), side)
    left, top, right, bottom = (int(v) for v in font.getbbox(character))
    font = ImageFont.truetype(str(file), side * (side - 2) / max(right - left, bottom - top, 1))
    left, top, _, _ = (int(v) for v in font.getbbox(character))
    image = Image.new("RGBA", (side, side), paper)
    ImageDraw.Draw(image).text((1 - left, 1 - top), character, font=font, fill=ink)
    return cleared(np.array(image))


EXAMPLE_PHOTOS = [
    "aero1",
    "aero3",
    "aloeL",
    "apple",
    "baboon",
    "basketball1",
    "board",
    "box_in_scene",
    "building",
    "butterfly",
    "chicky_512",
    "ela_original",
    "fruits",
    "graf1",
    "home",
    "left01",
    "left",
    "leuvenA",
    "licenseplate_motion",
    "messi5",
    "orange",
    "right05",
    "rubberwhale1",
    "smarties",
    "squirrel_cls",
    "starry_night",
    "stuff",
    "sudoku",
    "scenetext01",
    "scenetext02",
    "scenetext03",
    "scenetext04",
    "scenetext05",
    "scenetext06",
    "000",
    "001",
    "002",
    "plant",
]
"""Of opencv-doc; two of them are a painting and sweets on white, which a person would call photos
all the same."""
EXAMPLE_DRAWINGS = [
    "HappyFish",
    "opencv-logo",
    "opencv-logo-white",
    "ml",
    "pic3",
    "cards",
    "notes",
    "stanford",
]
SCIKIT = [
    "astronaut",
    "brick",
    "camera",
    "chelsea",
    "coffee",
    "coins",
    "grass",
    "gravel",
    "hubble_deep_field",
    "immunohistochemistry",
    "moon",
    "retina",
    "rocket",
    "china",
    "flower",
]
WALLPAPERS = [
    "Bridge",
    "Dragonfly",
    "Picture_0B",
    "Picture_1A",
    "Wine",
    "aitzgorri",
    "free",
    "friends",
    "greentock",
    "life",
    "picosdeeuropa",
    "seeding",
    "sunset",
]


def examples(names: list[str]) -> list[tuple[str, np.ndarray]]:
    """Example pictures of OpenCV's by name, wherever they lie."""
    root = debian("opencv-doc") / EXAMPLES
    files = [next(p for p in sorted(root.rglob(f"{n}.*")) if p.suffix in (".jpg", ".png"))
             for n in names]  # fmt: skip
    return [(f"opencv-{path.stem}", opened(path)) for path in files]


def photos() -> list[tuple[str, np.ndarray]]:
    """Photos as they are, each with a name."""
    found = examples(EXAMPLE_PHOTOS)
    for name in SCIKIT:
        pixels = photo(name).pixels
        if pixels.shape[2] != 4:  # grey
            pixels = np.dstack([pixels[..., :1]] * 3 + [pixels[..., -1:]])
        found.append((f"scikit-{name}", pixels))
    nature = debian("mate-backgrounds") / "usr/share/backgrounds/mate/nature"
    found += [(f"mate-{path.stem}", opened(path)) for path in sorted(nature.glob("*.jpg"))]
    walls = debian("lomiri-wallpapers-16.04") / "usr/share/backgrounds"
    found += [(f"lomiri-{n}", opened(next(walls.glob(f"{n}*")))) for n in WALLPAPERS]
    found.append(("sample-harbour", opened(SAMPLES / "harbour.jpg")))
    return found
