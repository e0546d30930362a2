"""Coefficients read from JPEG files, against libjpeg's own decoding of the same file.

The inverse DCT (SciPy's) of dequantised coefficients is what any decoder shows (ITU-T T.81, A.3.3);
libjpeg calculates in whole numbers, so that it may be a level off.
"""

from __future__ import annotations

import io

import numpy as np
import pytest
from PIL import Image
from scipy.fft import idctn

from img2plate.image.jpeg.coefficients import Channel, read_coefficients
from img2plate.image.jpeg.segments import ZIGZAG, lookup
from img2plate.image.jpeg.source import JpegSource


def smooth_picture(width: int, height: int) -> Image.Image:
    rows, columns = np.mgrid[:height, :width]
    planes = [np.sin(rows / 9 + c) * np.cos(columns / (7 + c)) * 100 + 128 for c in range(3)]
    return Image.fromarray(np.rint(np.dstack(planes)).astype(np.uint8))


def as_file(image: Image.Image, **options: object) -> bytes:
    data = io.BytesIO()
    image.save(data, "JPEG", **options)
    return data.getvalue()


def shown(channel: Channel) -> np.ndarray:
    """The pixels of a channel, at its own size."""
    high, wide = channel.stored.shape
    blocks = channel.stored.reshape(high // 8, 8, wide // 8, 8)
    return np.clip(idctn(blocks, axes=(1, 3), norm="ortho").reshape(high, wide) + 128, 0, 255)


def by_libjpeg(data: bytes, size: tuple[int, int]) -> np.ndarray:
    image = Image.open(io.BytesIO(data))
    image.draft("YCbCr", size)
    return np.asarray(image, np.float64)


@pytest.mark.parametrize(
    ("subsampling", "ratio"), [(0, (1, 1)), (1, (2, 1)), (2, (2, 2))], ids=["444", "422", "420"]
)
@pytest.mark.parametrize("restart", [0, 2], ids=["", "restart"])
def test_all_channels_are_what_libjpeg_shows(
    subsampling: int, ratio: tuple[int, int], restart: int
) -> None:
    picture = smooth_picture(53, 38)
    data = as_file(
        picture, quality=88, subsampling=subsampling, restart_marker_blocks=restart, optimize=True
    )
    assert (b"\xff\xd0" in data) == bool(restart)
    found = read_coefficients(data)
    assert found is not None
    assert found.size == picture.size
    assert [channel.ratio for channel in found.channels] == [(1, 1), ratio, ratio]
    wanted = by_libjpeg(data, picture.size)
    assert np.abs(shown(found.channels[0])[:38, :53] - wanted[..., 0]).max() < 1.2
    for c in (1, 2):
        across, down = ratio
        # Decoders smooth chroma between its pixels: the mean of what came of each is its own.
        own = shown(found.channels[c])[: 38 // down, : 53 // across]
        seen = wanted[: 38 // down * down, : 53 // across * across, c]
        means = seen.reshape(38 // down, down, 53 // across, across).mean(axis=(1, 3))
        assert np.abs(own - means).mean() < (0.4 if ratio == (1, 1) else 1.5)


def test_one_channel_and_the_steps_of_the_file() -> None:
    picture = smooth_picture(20, 17).convert("L")
    data = as_file(picture, quality=60)
    found = read_coefficients(data)
    assert found is not None
    assert len(found.channels) == 1
    wanted = np.asarray(Image.open(io.BytesIO(data)), np.float64)
    assert np.abs(shown(found.channels[0])[:17, :20] - wanted).max() < 1.2
    steps = np.zeros(64)
    steps[:] = Image.open(io.BytesIO(data)).quantization[0]
    # Pillow gives tables row by row, as this does.
    np.testing.assert_array_equal(found.channels[0].steps.ravel(), steps)
    assert not (found.channels[0].stored % np.tile(found.channels[0].steps, (3, 3))).any()


def test_a_picture_of_one_block_made_by_hand() -> None:
    """All codes by hand: DC 3 steps, the first AC -1, then the end of the block."""
    codes = "10" + "11" + "0" + "0" + "10"  # 2 bits follow; 3; AC of 1 bit; -1; end
    packed = int(codes.ljust(8, "1"), 2).to_bytes()
    tables = (
        b"\xff\xdb\x00\x43\x00" + bytes([16] * 64)
        + b"\xff\xc4\x00\x15\x00" + bytes([1, 1] + [0] * 14) + bytes([0, 2])
        + b"\xff\xc4\x00\x15\x10" + bytes([1, 1] + [0] * 14) + bytes([0x01, 0x00])
    )  # fmt: skip
    frame = b"\xff\xc0\x00\x0b\x08\x00\x08\x00\x08\x01\x01\x11\x00"
    scan = b"\xff\xda\x00\x08\x01\x01\x00\x00\x3f\x00" + packed
    data = b"\xff\xd8" + tables + frame + scan + b"\xff\xd9"
    found = read_coefficients(data)
    assert found is not None
    wanted = np.zeros((8, 8))
    wanted[0, :2] = 48, -16
    np.testing.assert_array_equal(found.channels[0].stored, wanted)
    np.testing.assert_allclose(
        shown(found.channels[0]), np.asarray(Image.open(io.BytesIO(data)), float), atol=1.2
    )


def test_codes_count_up_from_the_shortest() -> None:
    table = lookup([0, 2, 1] + [0] * 13, b"\x05\x06\x07")
    assert table[0b0011 << 12] == 2 * 256 + 5
    assert table[0b0111 << 12] == 2 * 256 + 6
    assert table[0b1001 << 12] == 3 * 256 + 7
    assert table[0b1010 << 12] == 0


def test_zigzag_runs_along_diagonals() -> None:
    """T.81, figure A.6: row and column add up to numbers that never fall."""
    assert sorted(ZIGZAG) == list(range(64))
    rows, columns = ZIGZAG // 8, ZIGZAG % 8
    assert (np.diff(rows + columns) >= 0).all()
    assert (columns[1], rows[2]) == (1, 1)


def test_other_kinds_are_not_read() -> None:
    picture = smooth_picture(24, 24)
    assert read_coefficients(as_file(picture, progressive=True)) is None
    assert read_coefficients(as_file(picture.convert("CMYK"))) is None
    assert read_coefficients(b"") is None
    whole = as_file(picture, quality=90)
    assert read_coefficients(whole[:200]) is None
    assert read_coefficients(whole.replace(b"\xff\xda", b"\xff\xfe", 1)) is None


def test_damage_never_raises() -> None:
    whole = as_file(smooth_picture(24, 24), quality=90)
    rng = np.random.default_rng(3)
    for _ in range(150):
        damaged = bytearray(whole)
        damaged[rng.integers(2, len(whole))] = rng.integers(256)
        read_coefficients(bytes(damaged))
        read_coefficients(whole[: rng.integers(len(whole))])


def test_a_part_holds_the_blocks_inside_it() -> None:
    source = JpegSource(as_file(smooth_picture(70, 50), quality=90))
    whole, part = source.coefficients, source.cropped(5, 3, 60, 40).cropped(1, 1, 59, 38)
    assert whole is not None
    assert part.coefficients is not None
    assert part.coefficients.size == (59, 38)
    luma, blue, _ = part.coefficients.channels
    assert luma.start == (2, 4)
    assert blue.start == (10, 12)
    np.testing.assert_array_equal(luma.stored, whole.channels[0].stored[8:40, 8:64])
    assert source.cropped(1, 1, 12, 12).coefficients is None
    to_the_end = source.cropped(16, 16, 54, 34).coefficients
    assert to_the_end is not None
    np.testing.assert_array_equal(to_the_end.channels[0].stored, whole.channels[0].stored[16:, 16:])
