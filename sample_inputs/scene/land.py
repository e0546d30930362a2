"""What stands far away: the sky, two ridges, the headland with its lighthouse."""

from __future__ import annotations

import cv2
import numpy as np
from scene.paint import (
    HAZE,
    HEIGHT,
    HORIZON,
    SUN,
    WIDTH,
    Array,
    colour,
    cover,
    glow,
    lay,
    noise,
    ramp,
    sample,
    stroke,
)


def sky() -> Array:
    """Dusk: blue above, peach at the horizon, clouds on a plane that runs to the horizon."""
    down, across = np.mgrid[:HEIGHT, :WIDTH].astype(np.float32)
    near_sun = np.exp(-(((across - SUN[0]) / 620) ** 2))
    height = np.clip((HORIZON - down) / HORIZON, 0, 1) * (1.12 - 0.3 * near_sun)
    stops = [
        (0, "#FBC98C"),
        (0.1, "#F4A983"),
        (0.24, "#C98C96"),
        (0.45, "#7E7BA3"),
        (0.75, "#45598C"),
        (1.1, "#273A68"),
    ]
    picture = ramp(height, stops)
    picture += (
        (1 - picture) * (0.55 * near_sun * np.exp(-height * 7))[..., None] * colour("#FFD9A0")
    )
    plane = noise((2048, 2048), (300, 300), 7)
    away = 46 / np.maximum(HORIZON - down, 3)
    u = (across - 800) * away * 1.25 + 1024
    v = away * 2400 + 100
    clouds = sample(plane, u % 2047, v % 2047)
    bank = np.clip((clouds - 0.47) * 2.6, 0, 1) * np.clip((HORIZON - down - 20) / 120, 0, 1)
    lit = np.clip(
        (cv2.GaussianBlur(clouds, (0, 0), 9) - clouds) * 5 + 0.55 * near_sun + 0.25 - 0.25 * height,
        0,
        1,
    )
    lay(
        picture,
        bank * 0.8,
        ramp(lit, [(0, "#4A4E78"), (0.45, "#A77C93"), (0.8, "#F2A58A"), (1, "#FFD3A6")]),
    )
    return picture


def hills(picture: Array) -> None:
    """Two far ridges, the farther one nearly haze."""
    for base, rise, dark, mist in (
        (HORIZON + 4, 95, "#59567C", 0.55),
        (HORIZON + 6, 60, "#3A4160", 0.25),
    ):
        line = (
            noise((1, WIDTH), (1, 520), 7)[0]
            * rise
            * np.interp(np.arange(WIDTH), [0, 900, 1600], [0.9, 0.35, 1.0])
        )
        points = [(0, base), *((x, base - 8 - line[x]) for x in range(0, WIDTH, 2)), (WIDTH, base)]
        tint = (1 - mist) * colour(dark) + mist * np.array(HAZE, np.float32)
        mask = cover(picture.shape[:2], points)
        fade = np.clip((np.arange(HEIGHT) - base + 100) / 100, 0, 1)[:, None, None].astype(
            np.float32
        )
        lay(picture, mask, tint + (np.array(HAZE, np.float32) - tint) * fade * 0.5)


def headland(picture: Array) -> None:
    """The rocky point on the right, with its lighthouse lit."""
    shape = picture.shape[:2]
    bumps = noise((1, WIDTH), (1, 90), 5)[0] * 34
    rise = np.interp(np.arange(WIDTH), [1090, 1180, 1290, 1420, 1600], [0, 26, 52, 66, 120])
    points = [
        (1085, 664),
        *((x, 656 - rise[x] - bumps[x] * rise[x] / 80) for x in range(1090, WIDTH, 2)),
        (WIDTH, 664),
    ]
    grain = noise(shape, (16, 30), 5)
    lay(
        picture,
        cover(shape, points),
        ramp(grain, [(0, "#292A3C"), (0.7, "#473F4E"), (1, "#7A6260")]),
    )
    foot, top, x = 606.0, 392.0, 1292.0
    tower = [(x - 27, foot), (x - 17, top), (x + 17, top), (x + 27, foot)]
    across = np.clip((np.arange(WIDTH) - (x - 25)) / 50, 0, 1).astype(np.float32)
    shade = np.interp(across, [0, 0.18, 0.55, 1], [1.04, 1.0, 0.66, 0.4])[None, :, None]
    down = np.arange(HEIGHT)[:, None]
    red = ((down - top) // 43 % 2 == 1)[..., None]
    paint = (
        np.where(red, colour("#C6473A"), colour("#F6E2CF"))
        * shade
        * (0.94 + 0.06 * grain[..., None])
    )
    lay(picture, cover(shape, tower), paint)
    lay(
        picture,
        cover(shape, [(x - 24, top + 3), (x - 24, top - 6), (x + 24, top - 6), (x + 24, top + 3)]),
        colour("#2C2A38"),
    )
    lay(
        picture,
        cover(
            shape, [(x - 12, top - 6), (x - 12, top - 34), (x + 12, top - 34), (x + 12, top - 6)]
        ),
        colour("#FFE9B0"),
    )
    lay(
        picture,
        cover(shape, [(x - 17, top - 33), (x, top - 55), (x + 17, top - 33)]),
        colour("#6E2F33"),
    )
    for bar in (-12, -4, 4, 12):
        lay(picture, stroke(shape, [(x + bar, top - 34), (x + bar, top - 6)], 2), colour("#2C2A38"))
    for place in (470, 540):
        lay(
            picture,
            cover(
                shape, [(x - 4, place), (x + 4, place), (x + 4, place + 14), (x - 4, place + 14)]
            ),
            colour("#FFD27A"),
        )
    hut = [(1330, 606), (1330, 582), (1352, 568), (1376, 582), (1376, 606)]
    lay(picture, cover(shape, hut), colour("#B79A8C"))
    lay(
        picture,
        cover(shape, [(1324, 584), (1352, 564), (1382, 584), (1352, 576)]),
        colour("#4A3440"),
    )
    lay(
        picture,
        cover(shape, [(1344, 590), (1354, 590), (1354, 602), (1344, 602)]),
        colour("#FFD27A"),
    )
    glow(picture, x, top - 20, 46, "#FFE2A0", 0.95)
