"""Sprites enlarged by Pillow and OpenCV, not by our own code, for the tests of native grids."""

from __future__ import annotations

import io

import cv2
import numpy as np
from PIL import Image
from support import SAMPLES

from img2plate.colour.difference import delta_E_CIE2000
from img2plate.colour.spaces import bytes2linear, linear2lab


def sample(name: str, ground: str = "#dfe8ee") -> np.ndarray:
    """One of our own sprites on an opaque ground."""
    with Image.open(SAMPLES / f"{name}.png") as image:
        sprite = image.convert("RGBA")
    flat = Image.new("RGBA", sprite.size, ground)
    flat.alpha_composite(sprite)
    return np.array(flat)


def by_pillow(pixels: np.ndarray, times: float, way: Image.Resampling) -> np.ndarray:
    size = (round(pixels.shape[1] * times), round(pixels.shape[0] * times))
    return np.array(Image.fromarray(pixels).resize(size, way))


def by_opencv(pixels: np.ndarray, times: float, way: int) -> np.ndarray:
    size = (round(pixels.shape[1] * times), round(pixels.shape[0] * times))
    return cv2.resize(pixels, size, interpolation=way)


def jpeg(pixels: np.ndarray, quality: int) -> np.ndarray:
    data = io.BytesIO()
    Image.fromarray(pixels[..., :3]).save(data, "JPEG", quality=quality)
    return np.array(Image.open(data).convert("RGBA"))


def near_share(found: np.ndarray, truth: np.ndarray) -> float:
    """Share of cells within dE00 3."""
    labs = [linear2lab(bytes2linear(p[..., :3]).astype(float)) for p in (found, truth)]
    return float((delta_E_CIE2000(*labs) <= 3).mean())
