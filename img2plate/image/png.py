"""PNG as a container: palette indices and text chunks in and out, which `read` does not keep."""

from __future__ import annotations

import io
import warnings
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from img2plate.base.arrays import Pixels
from img2plate.base.errors import PictureError


@dataclass(frozen=True, eq=False)
class Png:
    """What a PNG file holds."""

    pixels: Pixels
    """(h, w, 4) uint8 straight sRGB and alpha."""
    indices: NDArray[np.uint8] | None
    """(h, w) uint8 palette indices; None for a picture without a palette."""
    colours: NDArray[np.uint8]
    """(n, 4) uint8, the palette with alpha; n = 0 without one."""
    texts: Mapping[str, str]
    """Text chunks by keyword."""


def read_png(path: Path, *, most_megapixels: float = 4.0) -> Png:
    """Read a PNG with its palette and texts.

    Raises PictureError when the file is missing, damaged, too large or no PNG.
    """
    from PIL import Image

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # of sizes, which are refused below
            opened = Image.open(io.BytesIO(path.read_bytes()), formats=("PNG",))
        with opened as image:
            if image.width * image.height > most_megapixels * 1e6:
                raise PictureError(
                    f"{path}: {image.width} x {image.height} pixels are too many for a plate"
                    f" (at most {most_megapixels:g} million beads)"
                )
            image.load()
            texts = {key: str(value) for key, value in getattr(image, "text", {}).items()}
            indices = np.array(image) if image.mode == "P" else None
            colours = _colours(image)
            return Png(np.array(image.convert("RGBA")), indices, colours, texts)
    except FileNotFoundError:
        raise PictureError(f"no file {path}; check the name") from None
    except (OSError, SyntaxError, ValueError, Image.DecompressionBombError) as error:
        what = f"{path} is a folder" if path.is_dir() else f"{path}: not a readable PNG"
        raise PictureError(f"{what}; name a plate document, such as plate.png") from error


def _colours(image: Any) -> NDArray[np.uint8]:
    """(n, 4) palette of an indexed picture, with its alpha."""
    flat = image.getpalette("RGBA") if image.mode == "P" else []
    colours = np.array(flat or [], np.uint8).reshape(-1, 4)
    alpha = image.info.get("transparency")
    if isinstance(alpha, bytes):
        colours[: len(alpha), 3] = np.frombuffer(alpha[: len(colours)], np.uint8)
    elif isinstance(alpha, int) and alpha < len(colours):
        colours[alpha, 3] = 0
    return colours


def write_indexed_png(
    path: Path,
    indices: NDArray[np.uint8],
    colours: Sequence[tuple[int, int, int]],
    *,
    clear: int,
    texts: Mapping[str, str],
    plain_texts: Mapping[str, str],
) -> None:
    """Write (h, w) indices into `colours`; index `clear` is see-through.

    Texts become iTXt, compressed or (`plain_texts`) not.
    """
    from PIL import Image
    from PIL.PngImagePlugin import PngInfo

    image = Image.fromarray(indices).convert("P")
    image.putpalette([channel for colour in colours for channel in colour])
    info = PngInfo()
    for keyword, text in texts.items():
        info.add_itxt(keyword, text, zip=True)
    for keyword, text in plain_texts.items():
        info.add_itxt(keyword, text)
    alpha = bytes(0 if index == clear else 255 for index in range(len(colours)))
    image.save(path, format="PNG", pnginfo=info, transparency=alpha, optimize=False, bits=8)


def write_rgba_png(path: Path, pixels: Pixels) -> None:
    """Write straight sRGB and alpha as PNG."""
    from PIL import Image

    Image.fromarray(pixels).save(path, format="PNG")
