"""The JPEG file that a picture was read from, or the part of it that was cut out."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from math import ceil

from img2plate.image.jpeg.coefficients import Channel, Coefficients, read_coefficients


@dataclass(frozen=True, eq=False)
class JpegSource:
    """A file whose picture is upright and was not recoloured on reading.

    It is read for its coefficients only when they are asked for: most pictures are photos.
    """

    data: bytes
    """The whole file."""
    box: tuple[int, int, int, int] | None = None
    """Left, top, width and height of the part in pixels; None for all."""

    def cropped(self, x: int, y: int, width: int, height: int) -> JpegSource:
        """A part of this part."""
        left, top = self.box[:2] if self.box else (0, 0)
        return replace(self, box=(left + x, top + y, width, height))

    @cached_property
    def coefficients(self) -> Coefficients | None:
        """What is stored of the blocks that lie wholly in the part; None when it cannot be read."""
        whole = read_coefficients(self.data)
        return whole if whole is None or self.box is None else _part(whole, self.box)


def _part(whole: Coefficients, box: tuple[int, int, int, int]) -> Coefficients | None:
    """The blocks inside a box; None when a channel has none there."""
    channels = []
    for channel in whole.channels:
        spans = [_span(box[i], box[2 + i], whole.size[i], 8 * channel.ratio[i]) for i in range(2)]
        (x, right), (y, bottom) = spans
        if right <= x or bottom <= y:
            return None
        start = x * 8 * channel.ratio[0] - box[0], y * 8 * channel.ratio[1] - box[1]
        stored = channel.stored[8 * y : 8 * bottom, 8 * x : 8 * right]
        channels.append(Channel(channel.steps, stored, channel.ratio, start))
    return Coefficients(box[2:], tuple(channels))


def _span(start: int, length: int, whole: int, side: int) -> tuple[int, int]:
    """First block inside, and the one after the last; the picture's last one may be cut."""
    end = start + length
    return ceil(start / side), ceil(end / side) if end == whole else end // side
