"""The boats, and the sea that mirrors all that stands above it."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from scene.paint import (
    HEIGHT,
    HORIZON,
    SUN,
    WIDTH,
    Array,
    Points,
    colour,
    cover,
    lay,
    noise,
    ramp,
    sample,
    stroke,
)


class Layer:
    """Something afloat: a picture of the full size with its cover, and its waterline."""

    def __init__(self, waterline: float):
        self.rgb = np.zeros((HEIGHT, WIDTH, 3), np.float32)
        self.mask = np.zeros((HEIGHT, WIDTH), np.float32)
        self.waterline = waterline

    def add(self, mask: Array, paint: Array | tuple[float, ...]) -> None:
        """Paint a part."""
        lay(self.rgb, np.where(self.mask > 0, mask, (mask > 0).astype(np.float32)), paint)
        self.mask = np.maximum(self.mask, mask)

    def mirrored(self) -> tuple[Array, Array]:
        """Return picture and cover upside down below the waterline."""
        rows = np.clip(2 * round(self.waterline) - np.arange(HEIGHT), 0, HEIGHT - 1)
        return self.rgb[rows], self.mask[rows]


def boat(x: float, waterline: float, size: float, hull: str, *, cabin: bool, mast: float) -> Layer:
    """A wooden work boat, bow to the left, lit from behind its right shoulder."""
    layer, shape = Layer(waterline), (HEIGHT, WIDTH)

    def at(points: Points) -> Points:
        return [(x + px * size, waterline + py * size) for px, py in points]

    down = np.clip((np.arange(HEIGHT)[:, None] - waterline) / size + 0.42, 0, 0.45) / 0.45
    across = np.clip((np.arange(WIDTH)[None, :] - x) / size, 0, 2) / 2
    light = (1.1 - 0.55 * down) * (0.8 + 0.35 * across)
    boards = 1 - 0.22 * (np.abs((down * 5) % 1 - 0.5) > 0.42)
    wood = 0.85 + 0.3 * noise(shape, (12 * size / 100, 80 * size / 100), 4)
    tone = (light * boards * wood)[..., None].astype(np.float32)
    if mast:
        layer.add(
            stroke(shape, at([(0.78, -0.2), (0.78, -mast)]), max(2, round(size * 0.02))),
            colour("#5A4036"),
        )
        for foot in (0.06, 1.9):
            layer.add(stroke(shape, at([(0.78, -mast), (foot, -0.36)]), 1), colour("#3A3038"))
        layer.add(
            stroke(
                shape, at([(0.78, -mast * 0.55), (1.62, -mast * 0.78)]), max(1, round(size * 0.014))
            ),
            colour("#6A4A3A"),
        )
    if cabin:
        layer.add(
            cover(shape, at([(0.86, -0.2), (0.86, -0.72), (1.42, -0.7), (1.42, -0.2)])),
            colour("#E9DACA") * (0.62 + 0.3 * across[..., None]),
        )
        layer.add(
            cover(shape, at([(0.8, -0.7), (0.82, -0.77), (1.5, -0.75), (1.48, -0.68)])),
            colour("#7A3A36"),
        )
        layer.add(
            cover(shape, at([(0.86, -0.7), (0.86, -0.66), (1.42, -0.63), (1.42, -0.7)])),
            colour("#6A5A62"),
        )
        for pane in (0.91, 1.08, 1.25):
            layer.add(
                cover(
                    shape,
                    at([(pane, -0.62), (pane + 0.12, -0.62), (pane + 0.12, -0.45), (pane, -0.45)]),
                ),
                colour("#FFDB90"),
            )
    if not cabin:
        inner = [(0.06, -0.4), (0.5, -0.37), (1.2, -0.35), (1.96, -0.37), (1.6, -0.2), (0.5, -0.2)]
        layer.add(cover(shape, at(inner)), colour("#33242A"))
        layer.add(stroke(shape, at(inner[:4]), max(1, round(size * 0.02))), colour("#D8B898"))
        for seat in (0.55, 1.0, 1.45):
            layer.add(
                cover(
                    shape,
                    at(
                        [
                            (seat, -0.33),
                            (seat + 0.16, -0.33),
                            (seat + 0.2, -0.25),
                            (seat + 0.02, -0.25),
                        ]
                    ),
                ),
                colour("#A87C5C"),
            )
    body = [
        (0, -0.42),
        (0.25, -0.34),
        (0.7, -0.27),
        (1.3, -0.26),
        (1.75, -0.31),
        (2, -0.36),
        (1.93, -0.1),
        (1.86, 0.03),
        (0.36, 0.03),
        (0.16, -0.14),
    ]
    layer.add(cover(shape, at(body)), colour(hull) * tone)
    layer.add(
        cover(shape, at([(0.3, -0.03), (1.89, -0.03), (1.86, 0.03), (0.36, 0.03)])),
        colour("#6E2A26") * tone,
    )
    layer.add(
        stroke(shape, at(body[:6]), max(2, round(size * 0.025))),
        colour("#F0D9BE") * (0.7 + 0.3 * across[..., None]),
    )
    return layer


def sea(picture: Array, afloat: Sequence[Layer]) -> None:
    """Fill the water with a rippled mirror of what stands above it, darker towards the viewer."""
    down, across = np.mgrid[:HEIGHT, :WIDTH].astype(np.float32)
    near = np.clip((930 - across) / 990, 0.13, 1.1)
    shore = np.where(across < 800, HORIZON + 150 * near, 660)
    shore = np.where(
        (across >= 780) & (across < 1090), 647.0, np.where(across >= 1090, 661.0, shore)
    )
    mirror = sample(picture, across, np.clip(2 * shore - down, 0, HEIGHT - 1))
    for layer in afloat:
        rgb, mask = layer.mirrored()
        lay(mirror, mask * (down > layer.waterline - 2), rgb * 0.9)
    away = 1 / np.maximum(down - HORIZON, 2)
    swell = sample(
        noise((2048, 2048), (90, 130), 6),
        ((across - 800) * away * 620 + 1024) % 2047,
        (away * 420000) % 2047,
    )
    chop = sample(
        noise((2048, 2048), (24, 50), 4),
        ((across - 800) * away * 1500 + 1024) % 2047,
        (away * 620000) % 2047,
    )
    ripple = swell - 0.5 + 0.6 * (chop - 0.5)
    reach = np.clip((down - HORIZON) / 560, 0, 1)
    mirror = sample(
        mirror,
        across + ripple * (4 + 16 * reach),
        np.clip(down + ripple * (6 + 84 * reach), 642, HEIGHT - 1),
    )
    facing = np.clip(0.14 + 0.62 * reach + 0.5 * ripple * (0.2 + reach), 0, 0.9)[..., None]
    water = mirror * (1 - facing) * (0.93, 0.94, 0.98) + facing * ramp(
        reach, [(0, "#6F6C8A"), (0.5, "#2F4866"), (1, "#152C45")]
    )
    path = np.exp(-(((across - SUN[0]) / (60 + 240 * reach)) ** 2)) * np.clip(
        (ripple - 0.12) * 4, 0, 1
    )
    water += (1 - water) * (path * 0.8 * (1 - reach) ** 1.5)[..., None] * colour("#FFD9A0")
    lay(picture, np.clip(down - shore + 0.5, 0, 1), water)
