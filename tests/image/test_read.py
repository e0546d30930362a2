"""Pictures in every form they come in; made by Pillow or OpenCV, read by us."""

from __future__ import annotations

import io
import struct
import zlib
from pathlib import Path

import cv2
import numpy as np
import pytest
from PIL import Image, ImageCms

from img2plate.base.errors import PictureError
from img2plate.image.read import read_picture

RNG = np.random.default_rng(11)
RGB = RNG.integers(0, 256, (12, 9, 3), dtype=np.uint8)


def save(path: Path, image: Image.Image, **options: object) -> Path:
    image.save(path, **options)
    return path


@pytest.mark.parametrize("suffix", ["png", "bmp", "tiff", "webp", "gif"])
def test_lossless_formats_give_the_very_pixels(tmp_path: Path, suffix: str) -> None:
    image = Image.fromarray(RGB).quantize(16).convert("RGB")
    options = {"lossless": True} if suffix == "webp" else {}
    picture = read_picture(save(tmp_path / f"p.{suffix}", image, **options))
    np.testing.assert_array_equal(picture.pixels[..., :3], np.asarray(image))
    assert (picture.pixels[..., 3] == 255).all()


def test_jpeg_is_near(tmp_path: Path) -> None:
    smooth = np.zeros((32, 32, 3), np.uint8) + np.arange(0, 256, 8, dtype=np.uint8)[:, None, None]
    picture = read_picture(save(tmp_path / "p.jpg", Image.fromarray(smooth), quality=95))
    assert np.abs(picture.pixels[..., :3].astype(int) - smooth).max() <= 4


@pytest.mark.parametrize("orientation", range(1, 9))
def test_exif_orientation_is_carried_out(tmp_path: Path, orientation: int) -> None:
    """Orientation values of the Exif standard (JEITA CP-3451), turned back by hand."""
    upright = RGB[:8, :6]
    stored = {
        1: upright,
        2: upright[:, ::-1],
        3: upright[::-1, ::-1],
        4: upright[::-1],
        5: upright.transpose(1, 0, 2),
        6: np.rot90(upright, 1),
        7: upright[::-1, ::-1].transpose(1, 0, 2),
        8: np.rot90(upright, -1),
    }[orientation]
    exif = Image.Exif()
    exif[0x0112] = orientation
    path = save(tmp_path / "p.png", Image.fromarray(np.ascontiguousarray(stored)), exif=exif)
    np.testing.assert_array_equal(read_picture(path).pixels[..., :3], upright)


def test_grey_indexed_one_bit_and_alpha(tmp_path: Path) -> None:
    grey = Image.fromarray(RGB[..., 0])
    np.testing.assert_array_equal(
        read_picture(save(tmp_path / "g.png", grey)).pixels[..., 1], RGB[..., 0]
    )
    indexed = Image.fromarray(RGB).quantize(5)
    np.testing.assert_array_equal(
        read_picture(save(tmp_path / "i.png", indexed)).pixels[..., :3],
        np.asarray(indexed.convert("RGB")),
    )
    alpha = np.dstack([RGB, RGB[..., 0]])
    np.testing.assert_array_equal(
        read_picture(save(tmp_path / "a.png", Image.fromarray(alpha))).pixels, alpha
    )
    clear = save(tmp_path / "t.png", indexed, transparency=2)
    np.testing.assert_array_equal(read_picture(clear).pixels[..., 3] == 0, np.asarray(indexed) == 2)
    bits = save(tmp_path / "b.png", Image.fromarray(RGB[..., 0] > 127))
    np.testing.assert_array_equal(
        read_picture(bits).pixels[..., 0], np.where(RGB[..., 0] > 127, 255, 0)
    )


@pytest.mark.parametrize("suffix", ["png", "tiff"])
@pytest.mark.parametrize("channels", [1, 3])
def test_16_bit_pictures_are_scaled_not_clipped(tmp_path: Path, suffix: str, channels: int) -> None:
    """Written by OpenCV. Pillow alone would read 16-bit grey as nearly all white."""
    deep = RGB[..., :channels].astype(np.uint16) * 257
    path = tmp_path / f"d.{suffix}"
    assert cv2.imwrite(str(path), deep[..., ::-1] if channels == 3 else deep)
    np.testing.assert_array_equal(read_picture(path).pixels[..., :channels], RGB[..., :channels])


def test_cmyk_says_that_it_guesses(tmp_path: Path) -> None:
    path = save(tmp_path / "c.tiff", Image.new("CMYK", (4, 4), (0, 255, 255, 0)))
    picture = read_picture(path)
    assert picture.pixels[0, 0].tolist() == [255, 0, 0, 255]
    assert "CMYK" in picture.notes[0]


def linear_profile() -> bytes:
    """An ICC profile of ours: sRGB primaries, gamma 1 (ICC.1:2010, 'curv' with no entry)."""
    srgb = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    count = struct.unpack(">I", srgb[128:132])[0]
    tags = {
        srgb[132 + 12 * i : 136 + 12 * i]: struct.unpack(">II", srgb[136 + 12 * i : 144 + 12 * i])
        for i in range(count)
    }
    blobs = {key: srgb[at : at + size] for key, (at, size) in tags.items()}
    for key in (b"rTRC", b"gTRC", b"bTRC"):
        blobs[key] = b"curv" + bytes(8)
    text = "linear test".encode("utf-16-be")
    blobs[b"desc"] = (
        b"mluc" + struct.pack(">IIIHHII", 0, 1, 12, 0x656E, 0x5553, len(text), 28) + text
    )
    table, data, offset = b"", b"", 132 + 12 * count
    for key, blob in blobs.items():
        blob += bytes(-len(blob) % 4)
        table += key + struct.pack(">II", offset + len(data), len(blob))
        data += blob
    body = srgb[:128] + struct.pack(">I", count) + table + data
    return struct.pack(">I", len(body)) + body[4:]


def test_an_embedded_profile_is_converted_to_srgb(tmp_path: Path) -> None:
    """Linear 55 of 255 is sRGB 128.6 by IEC 61966-2-1, here through a profile of gamma 1."""
    image = Image.new("RGB", (4, 4), (55, 55, 55))
    path = save(tmp_path / "p.png", image, icc_profile=linear_profile())
    picture = read_picture(path)
    assert abs(int(picture.pixels[0, 0, 0]) - 128) <= 1
    assert "profile" in picture.notes[0]


def test_an_srgb_profile_changes_no_pixel(tmp_path: Path) -> None:
    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    path = save(tmp_path / "p.png", Image.fromarray(RGB), icc_profile=profile)
    np.testing.assert_array_equal(read_picture(path).pixels[..., :3], RGB)


def test_a_broken_profile_is_said_and_passed_over(tmp_path: Path) -> None:
    path = save(tmp_path / "p.png", Image.fromarray(RGB), icc_profile=b"not a profile")
    picture = read_picture(path)
    np.testing.assert_array_equal(picture.pixels[..., :3], RGB)
    assert "cannot be used" in picture.notes[0]


def test_the_first_frame_of_an_animation(tmp_path: Path) -> None:
    frames = [Image.new("RGB", (4, 4), colour) for colour in ("#ff0000", "#00ff00", "#0000ff")]
    path = save(tmp_path / "p.gif", frames[0], save_all=True, append_images=frames[1:])
    picture = read_picture(path)
    assert picture.pixels[0, 0, :3].tolist() == [255, 0, 0]
    assert picture.notes == ("took the first of 3 frames; see `frame`",)
    assert read_picture(path, frame=3).pixels[0, 0, :3].tolist() == [0, 0, 255]


def png_header(width: int, height: int) -> bytes:
    """A PNG that is only its head, by hand (ISO/IEC 15948)."""
    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    chunks = ((b"IHDR", head), (b"IDAT", b""), (b"IEND", b""))
    return b"\x89PNG\r\n\x1a\n" + b"".join(
        struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))
        for kind, data in chunks
    )


def test_wrong_files(tmp_path: Path) -> None:
    whole = io.BytesIO()
    Image.fromarray(RGB.repeat(20, axis=0).repeat(20, axis=1)).save(whole, "JPEG")
    cases = {
        "text.png": (b"hello, this is text", "not a picture"),
        "short.jpg": (whole.getvalue()[: len(whole.getvalue()) // 2], "damaged or cut off"),
        "empty.png": (b"", "empty"),
        "huge.png": (png_header(60_000, 60_000), "60000 x 60000"),
    }
    for name, (data, words) in cases.items():
        (tmp_path / name).write_bytes(data)
        with pytest.raises(PictureError, match=words):
            read_picture(tmp_path / name)
    with pytest.raises(PictureError, match="no file"):
        read_picture(tmp_path / "missing.png")
    with pytest.raises(PictureError, match="folder"):
        read_picture(tmp_path)
    clear = save(tmp_path / "clear.png", Image.new("RGBA", (4, 4)))
    with pytest.raises(PictureError, match="fully transparent"):
        read_picture(clear)
    with pytest.raises(PictureError, match="max_megapixels"):
        read_picture(save(tmp_path / "p.png", Image.fromarray(RGB)), max_megapixels=1e-5)
