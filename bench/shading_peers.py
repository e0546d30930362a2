"""General-purpose quantisers that put a picture into a fixed palette, for the shading benchmark.

Each takes (h, w, 3) linear light and a palette and returns (h, w) palette indices. Pillow,
libimagequant, `dithering` and `tramage` come with the `bench` extra, ImageMagick from Debian.
"""

from __future__ import annotations

import subprocess
import tempfile
from collections.abc import Callable
from pathlib import Path

import numpy as np
from PIL import Image
from scipy.spatial import cKDTree
from skimage.color import deltaE_ciede2000

from img2plate.colour.palette import Palette
from img2plate.colour.spaces import linear2bytes, linear2lab, linear2oklab

Peer = Callable[[np.ndarray, Palette], np.ndarray]


def _indices(rgb: np.ndarray, palette: Palette) -> np.ndarray:
    """(h, w, 3) uint8 of palette colours to indices; a colour that is not there is an error."""
    codes = palette.srgb.astype(np.int64) @ [65536, 256, 1]
    order = np.argsort(codes)
    wanted = rgb.astype(np.int64) @ [65536, 256, 1]
    found = order[np.searchsorted(codes[order], wanted)]
    if (codes[found] != wanted).any():
        raise ValueError("a peer answered with a colour that is not in the palette")
    return found.astype(np.int16)


def _palette_image(palette: Palette) -> Image.Image:
    image = Image.new("P", (1, 1))
    filled = np.vstack([palette.srgb, np.repeat(palette.srgb[-1:], 256 - len(palette), axis=0)])
    image.putpalette(filled.tobytes())
    return image


def pillow(linear: np.ndarray, palette: Palette) -> np.ndarray:
    image = Image.fromarray(linear2bytes(linear))
    made = image.quantize(palette=_palette_image(palette), dither=Image.Dither.FLOYDSTEINBERG)
    return _indices(np.array(made.convert("RGB")), palette)


def imagequant_full(linear: np.ndarray, palette: Palette) -> np.ndarray:
    """Fixed palette by its fixed-colour call, full dithering."""
    return imagequant(linear, palette, 1.0)


def imagequant_flat(linear: np.ndarray, palette: Palette) -> np.ndarray:
    """The same without dithering."""
    return imagequant(linear, palette, 0.0)


def imagequant(linear: np.ndarray, palette: Palette, dithering: float) -> np.ndarray:
    """libimagequant with a fixed palette; dithering from 0 to 1."""
    from imagequant import ffi, lib

    height, width = linear.shape[:2]
    rgba = np.dstack([linear2bytes(linear), np.full((height, width), 255, np.uint8)]).tobytes()
    attr = lib.liq_attr_create()
    attr.max_colors = max(2, len(palette))
    image = lib.liq_image_create_rgba(attr, rgba, width, height, 0)
    for r, g, b in palette.srgb.tolist():
        color = ffi.new("liq_color *", {"r": r, "g": g, "b": b, "a": 255})[0]
        lib.liq_image_add_fixed_color(image, color)
    result = ffi.new("liq_result**")
    if lib.liq_image_quantize(image, attr, result) != lib.LIQ_OK:
        raise RuntimeError("libimagequant refused")
    lib.liq_set_dithering_level(result[0], dithering)
    buffer = ffi.new("char[]", width * height)
    lib.liq_write_remapped_image(result[0], image, buffer, width * height)
    entries = lib.liq_get_palette(result[0]).entries
    colours = np.array([(e.r, e.g, e.b) for e in entries], np.uint8)
    picked = np.frombuffer(ffi.unpack(buffer, width * height), np.uint8).reshape(height, width)
    lib.liq_result_destroy(result[0])
    lib.liq_image_destroy(image)
    lib.liq_attr_destroy(attr)
    return _indices(colours[picked], palette)


def dithering_linear(linear: np.ndarray, palette: Palette) -> np.ndarray:
    import dithering

    colours = [tuple(c) for c in palette.srgb.tolist()]
    made = dithering.dither(
        linear2bytes(linear), "floyd_steinberg", palette=colours, linear=True, serpentine=True
    )
    return _indices(np.asarray(made), palette)


def tramage_shaped(linear: np.ndarray, palette: Palette) -> np.ndarray:
    import tramage

    picture = np.asarray(linear2oklab(np.asarray(linear, np.float64)))
    matrices = tramage.per_cell_shaping_matrices(palette.oklab)[0]
    return np.asarray(tramage.diffuse(picture, palette.oklab, matrices)[1], np.int16)


def magick(mode: str) -> Peer:
    """ImageMagick's -remap with a way of dithering."""

    def run(linear: np.ndarray, palette: Palette) -> np.ndarray:
        with tempfile.TemporaryDirectory() as folder:
            source, colours, out = (Path(folder) / n for n in ("in.png", "map.png", "out.png"))
            Image.fromarray(linear2bytes(linear)).save(source)
            Image.fromarray(palette.srgb[None]).save(colours)
            subprocess.run(
                ["convert", source, "-dither", mode, "-remap", colours, f"PNG24:{out}"], check=True
            )
            return _indices(np.array(Image.open(out).convert("RGB")), palette)

    return run


def nearest_cielab(linear: np.ndarray, palette: Palette) -> np.ndarray:
    picture = linear2lab(np.asarray(linear, np.float64))
    return np.asarray(cKDTree(palette.lab).query(picture)[1], np.int16)


def nearest_oklab(linear: np.ndarray, palette: Palette) -> np.ndarray:
    picture = linear2oklab(np.asarray(linear, np.float64))
    return np.asarray(cKDTree(palette.oklab).query(picture)[1], np.int16)


def nearest_ciede2000(linear: np.ndarray, palette: Palette) -> np.ndarray:
    picture = linear2lab(np.asarray(linear, np.float64))
    return np.array(
        [deltaE_ciede2000(row[:, None], palette.lab[None]).argmin(axis=1) for row in picture],
        np.int16,
    )


DITHERING: dict[str, Peer] = {
    "libimagequant, full dithering": imagequant_full,
    "dithering, linear Floyd-Steinberg": dithering_linear,
    "Pillow Floyd-Steinberg": pillow,
    "ImageMagick Floyd-Steinberg": magick("FloydSteinberg"),
    "ImageMagick Riemersma": magick("Riemersma"),
    "tramage, shaped diffusion": tramage_shaped,
}
FLAT: dict[str, Peer] = {
    "cKDTree, nearest in CIELAB": nearest_cielab,
    "cKDTree, nearest in OKLab": nearest_oklab,
    "scikit-image, nearest in CIEDE2000": nearest_ciede2000,
}
