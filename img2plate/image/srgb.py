"""A loaded picture becomes straight 8-bit sRGB with alpha, whatever its file holds."""

from __future__ import annotations

import io
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from img2plate.base.arrays import Pixels

if TYPE_CHECKING:
    from PIL import Image


def to_srgb(image: Image.Image) -> tuple[Pixels, tuple[str, ...]]:
    """Bring a loaded picture to (h, w, 4) uint8 sRGB, with notes on the way taken."""
    from PIL import ImageOps

    profile = image.info.get("icc_profile")
    image = ImageOps.exif_transpose(image)
    if image.mode.startswith(("I", "F")):
        image = _scale_deep(image)
    if image.mode in ("P", "PA", "1", "RGBa", "La"):
        image = image.convert("RGBA")
    notes: tuple[str, ...] = ()
    if image.mode == "RGB" and "transparency" in image.info:
        image = image.convert("RGBA")
    if profile:
        image, notes = _apply_profile(image, profile)
    elif image.mode == "CMYK":
        notes = ("CMYK without a colour profile: its colours are a guess",)
    return np.array(image.convert("RGBA")), notes


def _scale_deep(image: Image.Image) -> Image.Image:
    """Bring whole numbers over 8 bits, or floats, to 8-bit grey."""
    from PIL import Image

    values = np.asarray(image)
    if values.dtype.kind == "f":
        top = 1.0 if values.max(initial=0) <= 1 else 255.0
        grey = np.rint(np.clip(values / top, 0, 1) * 255).astype(np.uint8)
    else:
        grey = deep2bytes(np.clip(values, 0, 65535))
    return Image.fromarray(grey)


def deep2bytes(values: NDArray[Any]) -> Pixels:
    """Round 0..65535 to 0..255: 65535 / 255 is 257 exactly."""
    return ((values.astype(np.uint32) + 128) // 257).astype(np.uint8)


def _apply_profile(image: Image.Image, profile: bytes) -> tuple[Image.Image, tuple[str, ...]]:
    """Convert by an embedded ICC profile; a profile that is sRGB itself changes no pixel."""
    from PIL import ImageCms

    try:
        source = ImageCms.ImageCmsProfile(io.BytesIO(profile))
        name = ImageCms.getProfileDescription(source).strip()
        if "srgb" in name.lower():
            return image, ()
        if image.mode == "LA":
            image = image.convert("RGBA") if source.profile.xcolor_space.strip() == "RGB" else image
        alpha = image.getchannel("A") if image.mode in ("RGBA", "LA") else None
        base = image.convert("RGB" if image.mode == "RGBA" else "L") if alpha else image
        converted = ImageCms.profileToProfile(
            base, source, ImageCms.createProfile("sRGB"), outputMode="RGB"
        )
    except (ImageCms.PyCMSError, OSError, ValueError):
        return image, ("its colour profile cannot be used: colours are taken as sRGB",)
    if converted is None:
        return image, ()
    if alpha:
        converted.putalpha(alpha)
    return converted, (f"converted from its colour profile ({name or 'unnamed'})",)
