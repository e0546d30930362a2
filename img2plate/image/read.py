"""A picture file becomes straight 8-bit sRGB with alpha, the way its maker saw it.

The orientation that a camera noted is carried out, an embedded colour profile is converted to
sRGB, and 16-bit, grey, indexed and CMYK pictures are brought to the same form.
"""

from __future__ import annotations

import io
import warnings
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from img2plate.base.arrays import Pixels
from img2plate.base.errors import Img2PlateError, OptionError, PictureError
from img2plate.image.jpeg.source import JpegSource
from img2plate.image.silent import silent_libraries
from img2plate.image.srgb import deep2bytes, to_srgb

if TYPE_CHECKING:
    from PIL import Image

FORMATS = ("PNG", "JPEG", "GIF", "WEBP", "BMP", "TIFF")
_ORIENTATION = 0x0112
"""EXIF's tag of how the camera was held."""
MAX_MEGAPIXELS = 120.0
"""Default limit: such a picture takes about 2 GB to read."""
MOST_PIXELS_A_BYTE = 10_000
"""A PNG of one bit a pixel, all alike, has 8,256 (deflate packs at most 1,032 bytes into one)."""


@dataclass(frozen=True, eq=False)
class Picture:
    """A decoded picture."""

    pixels: Pixels
    """(h, w, 4) uint8, straight sRGB and alpha."""
    name: str
    """File name, for people."""
    notes: tuple[str, ...] = ()
    """What a user should know about the reading, a sentence each."""
    source: JpegSource | None = None
    """The file itself, when it is a JPEG whose pixels were taken as they are."""
    is_lossy: bool = False
    """Whether its kind of file changes pixels when it is saved, as JPEG does."""

    @property
    def size(self) -> tuple[int, int]:
        """Width and height in pixels."""
        return self.pixels.shape[1], self.pixels.shape[0]


def read_picture(
    path: Path, *, max_megapixels: float = MAX_MEGAPIXELS, frame: int | None = None
) -> Picture:
    """Read PNG, JPEG, GIF, WebP, BMP or TIFF; of an animation the frame of that number, from 1.

    Raises PictureError when the file is missing, not a picture, damaged, too large, or shows
    nothing at all; OptionError for a frame that there is not.
    """
    data = _read_bytes(path)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # Pillow warns of odd metadata that does not matter here.
        image = _open(path, data, max_megapixels)
        with _damage_told(path), silent_libraries(data):
            notes = _frames_note(image, frame)
            if frame is not None:
                image.seek(frame - 1)
            image.load()
            pixels, more = to_srgb(image)
    if not pixels[..., 3].any():
        raise PictureError(f"{path}: the picture is fully transparent, so there is nothing to make")
    return Picture(
        pixels, path.name, (*notes, *more), _jpeg_source(image, data), _is_lossy(image, data)
    )


@contextmanager
def _damage_told(path: Path) -> Iterator[None]:
    """Turn what decoders raise over a damaged file, which can be anything, into a PictureError."""
    try:
        yield
    except Img2PlateError:
        raise
    except Exception as error:
        raise PictureError(
            f"{path}: the picture is damaged or cut off ({_reason(error)}); get it again"
        ) from error


def _jpeg_source(image: Image.Image, data: bytes) -> JpegSource | None:
    """The file, when nothing was done to the picture after decoding."""
    turned = image.getexif().get(_ORIENTATION, 1) != 1
    # A profile moves colours, unless it is that of sRGB; nobody gives one to a sprite.
    if image.format != "JPEG" or turned or image.info.get("icc_profile"):
        return None
    return JpegSource(data) if image.mode in ("RGB", "L") else None


def _read_bytes(path: Path) -> bytes:
    """Read a file whole; whatever can be wrong with it becomes a PictureError."""
    try:
        if path.is_dir():
            raise PictureError(f"{path} is a folder; name the picture files in it")
        data = path.read_bytes()
    except FileNotFoundError:
        raise PictureError(f"no file {path}; check the name") from None
    except OSError as error:
        raise PictureError(f"cannot read {path}: {error.strerror}") from error
    if not data:
        raise PictureError(f"{path}: the file is empty (0 bytes); get it again")
    return data


def _open(path: Path, data: bytes, max_megapixels: float) -> Image.Image:
    """Read the head of the file and refuse what is no picture, or too large a one."""
    from PIL import Image

    # Pillow's own limit knows no option to name; the check below stands in for it.
    limit, Image.MAX_IMAGE_PIXELS = Image.MAX_IMAGE_PIXELS, None
    try:
        with silent_libraries(data):
            image: Image.Image = Image.open(io.BytesIO(data), formats=FORMATS)
    except Exception:  # damaged heads end in errors of any kind
        image = _open_deep_tiff(path, data)
    finally:
        Image.MAX_IMAGE_PIXELS = limit
    width, height = image.size
    if width * height > MOST_PIXELS_A_BYTE * len(data):
        raise PictureError(
            f"{path}: says it has {width} x {height} pixels, which {len(data):,} bytes cannot hold;"
            " get it again"
        )
    if width * height > max_megapixels * 1e6:
        raise PictureError(
            f"{path}: {width} x {height} pixels is over the limit of {max_megapixels:g} megapixels",
            field="max_megapixels",
            remedy="make it smaller, or raise `max_megapixels`",
        )
    return image


def _open_deep_tiff(path: Path, data: bytes) -> Image.Image:
    """Read what Pillow does not: TIFF with 16 bits in each of three or four channels."""
    from PIL import Image

    if data[:4] in (b"II*\0", b"MM\0*"):
        import cv2

        deep = None
        with silent_libraries(data), suppress(cv2.error):  # sizes that it does not believe
            deep = cv2.imdecode(np.frombuffer(data, np.uint8), cv2.IMREAD_UNCHANGED)
        if deep is not None and deep.dtype == np.uint16 and deep.ndim == 3:
            order = [2, 1, 0, 3][: deep.shape[2]]
            return Image.fromarray(deep2bytes(deep[..., order]))
    raise PictureError(f"{path}: not a picture that can be read (PNG, JPEG, GIF, WebP, BMP, TIFF)")


def _is_lossy(image: Image.Image, data: bytes) -> bool:
    """Whether a picture's file is a JPEG, or a WebP that is not of the lossless kind."""
    if image.format == "WEBP":
        return b"VP8L" not in data[:4096]
    return image.format in ("JPEG", "MPO")


def frame_count(path: Path, *, max_megapixels: float = MAX_MEGAPIXELS) -> int:
    """How many frames an animation has; 1 for any other picture. Raises PictureError."""
    data = _read_bytes(path)
    image = _open(path, data, max_megapixels)
    with _damage_told(path), silent_libraries(data):
        return _frames(image)


def _frames(image: Image.Image) -> int:
    """How many frames there are."""
    # The further pictures of an MPO are previews.
    return 1 if image.format == "MPO" else getattr(image, "n_frames", 1)


def _frames_note(image: Image.Image, frame: int | None) -> tuple[str, ...]:
    """Say which frame was taken when there is more than one. Raises OptionError."""
    frames = _frames(image)
    if frame is not None and not 1 <= frame <= frames:
        raise OptionError(f"is not from 1 to {frames}", field="frame", value=frame)
    if frames < 2:
        return ()
    if frame is None:
        return (f"took the first of {frames} frames; see `frame`",)
    return (f"took frame {frame} of {frames}",)


def _reason(error: BaseException) -> str:
    """Return the first line of an error, for the end of ours."""
    text = str(error).strip() or type(error).__name__
    return text.splitlines()[0]
