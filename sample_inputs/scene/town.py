"""The houses on the quay, each a front painted squarely and then laid into perspective."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray
from scene.paint import (
    HAZE,
    HEIGHT,
    HORIZON,
    WIDTH,
    Array,
    chance,
    colour,
    cover,
    glow,
    lay,
    noise,
    normal,
    ramp,
    stroke,
)


def town(picture: Array) -> None:
    """The row of houses behind the quay, far ones first, with haze between."""
    walls = (
        "#C9875F",
        "#D9C3A0",
        "#8C4B44",
        "#7F93A0",
        "#D8A24E",
        "#B8B0A4",
        "#A85C48",
        "#6D8578",
        "#E0CDB0",
        "#95655A",
        "#C2A07A",
        "#7A7F96",
    )
    distance = 1.0 + 0.42 * np.arange(len(walls) + 1)
    for i in reversed(range(len(walls))):
        gable = ("point", "steps", "flat")[i * 2 % 3]
        front, mask = facade(walls[i], (3, 2, 3, 2, 3, 3, 2, 3, 2, 3, 2, 3)[i], gable)
        left, right = 1.0 / distance[i], 1.0 / distance[i + 1]
        (x0, y0, _), (x1, y1, _) = quay_place(left * 1.04), quay_place(right * 1.04)
        x0, x1 = x0 - 60 * left, x1 - 60 * right
        target = [
            (x0, y0 - 560 * left),
            (x1, y1 - 560 * right),
            (x1, y1 - 10 * right),
            (x0, y0 - 10 * left),
        ]
        warp = cv2.getPerspectiveTransform(
            np.array([(0, 0), (256, 0), (256, 560), (0, 560)], np.float32),
            np.array(target, np.float32),
        )
        depth(picture, warp, front, mask, 330 * left, drop=34 * (gable == "steps"))
        size = (WIDTH, HEIGHT)
        flat = cv2.warpPerspective(front, warp, size, flags=cv2.INTER_AREA)
        seen = cv2.warpPerspective(mask, warp, size, flags=cv2.INTER_AREA)
        mist = 0.5 * (1 - right) ** 2
        flat = flat * (1 - mist) * (0.95, 0.86, 0.86) + np.array(HAZE, np.float32) * mist
        lay(picture, seen, flat)


def facade(wall: str, floors: int, gable: str) -> tuple[Array, Array]:
    """One house front seen squarely, 256 px wide: picture and cover, 560 px high."""
    shape = (560, 256)
    picture = np.broadcast_to(colour(wall), (*shape, 3)).copy()
    top = 560 - 105 * floors - 40
    picture *= (0.82 + 0.25 * noise(shape, (70, 50), 6) + 0.05 * normal(shape))[..., None].astype(
        np.float32
    )
    picture *= np.interp(np.arange(560), [top, 430, 560], [1.06, 0.95, 0.6])[:, None, None].astype(
        np.float32
    )
    outline = {
        "point": [(6, top), (128, top - 105), (250, top)],
        "steps": [
            (6, top), (6, top - 18), (50, top - 18), (50, top - 52), (92, top - 52), (92, top - 86),
            (164, top - 86), (164, top - 52), (206, top - 52), (206, top - 18), (250, top - 18),
            (250, top),
        ],
        "flat": [(0, top - 34), (256, top - 34)],
    }[gable]  # fmt: skip
    mask = cover(shape, [(6, 560), *outline, (250, 560)])
    lay(
        picture,
        stroke(shape, outline, 9),
        colour("#40323C") if gable == "flat" else colour(wall) * 0.55,
    )
    for floor in range(floors):
        for column in range(3):
            x, y = 34 + 72 * column, 560 - 105 * floor - 90
            window(picture, x, y, tall=66 if floor else 62, lit=chance() < 0.42)
    if gable != "flat":
        window(picture, 108, top - 40, tall=38, lit=chance() < 0.5)
    lay(
        picture,
        cover(shape, [(100, 560), (100, 468), (152, 468), (152, 560)]),
        colour(("#3E4E52", "#5A2E2C", "#2E3A56")[floors % 3]),
    )
    return picture, mask


def window(picture: Array, x: float, y: float, *, tall: float, lit: bool) -> None:
    """A sash window in a painted frame, lit from within or full of evening sky."""
    shape = picture.shape[:2]
    box = [(x, y), (x + 42, y), (x + 42, y + tall), (x, y + tall)]
    lay(
        picture,
        cover(
            shape, [(x - 5, y - 5), (x + 47, y - 5), (x + 47, y + tall + 7), (x - 5, y + tall + 7)]
        ),
        colour("#D8C8B8") * 0.8,
    )
    inside = np.clip((np.arange(shape[0]) - y) / tall, 0, 1).astype(np.float32)
    stops = (
        [(0, "#FFF0BE"), (0.5, "#FFD27E"), (1, "#E8964A")]
        if lit
        else [(0, "#8B7F9A"), (0.4, "#4A4C68"), (1, "#262A3E")]
    )
    lay(picture, cover(shape, box), ramp(inside, stops)[:, None, :] * (0.85 + 0.15 * chance()))
    lay(picture, stroke(shape, [(x + 21, y), (x + 21, y + tall)], 3), colour("#B8A698"))
    lay(picture, stroke(shape, [(x, y + tall / 2), (x + 42, y + tall / 2)], 3), colour("#B8A698"))


def depth(
    picture: Array, warp: NDArray[np.float64], front: Array, mask: Array, deep: float, drop: float
) -> None:
    """The end wall and the roof of a house, which run away from its front to the left.

    `deep` is how far in px; the roof hides `drop` px behind the rim of a stepped front.
    """
    edge = np.argmax(mask > 0.5, axis=0)  # first row of the front in each column
    peak = int(np.argmin(edge[8:129])) + 8
    flat = [(7.0, edge[8] + drop / 2), (peak, edge[peak] + drop), (7.0, 560.0)]
    eave, ridge, foot = cv2.perspectiveTransform(np.array([flat], np.float32), warp)[0]
    back = np.array((-deep, 0), np.float32)
    shape = picture.shape[:2]
    lay(
        picture,
        cover(shape, [eave, eave + back, foot + back, foot]),
        front[300, 60] * (0.42, 0.4, 0.5),
    )
    tiles = noise(shape, (5, 9), 3)
    roof = ramp(tiles, [(0, "#2E2633"), (1, "#5C4044")])
    lay(picture, cover(shape, [eave, ridge, ridge + back, eave + back]), roof)


def quay(picture: Array) -> None:
    """The stone quay: paved top, wall of courses, a wet dark band, lamps along the edge."""
    shape = picture.shape[:2]
    (x0, y0, w0), (x1, y1, w1) = quay_place(1.06), quay_place(0.13)
    down, across = np.mgrid[:HEIGHT, :WIDTH].astype(np.float32)
    near = np.clip((930 - across) / 990, 0.05, 1.1)
    grain = noise(shape, (8, 16), 4) * 0.6 + 0.4 * noise(shape, (160, 160), 5)
    paving = [(x0, y0), (x1, y1), (x1 - 30, y1 - 4), (x0 - 80, y0 - 20)]
    lay(picture, cover(shape, paving), ramp(grain, [(0, "#6E5A58"), (1, "#B8988A")]))
    level = (down - HORIZON) / near  # 58 at the edge, 150 at the water, whatever the distance
    along = 1 / near
    row = np.floor((level - 58) / 13)
    joint = ((level - 58) % 13 < 1.3) | ((along * 12 + row * 0.5) % 1 < 0.05)
    stone = ramp(
        np.clip(grain * 0.8 + 0.2 * np.sin(row * 7 + np.floor(along * 12 + row * 0.5) * 3.7), 0, 1),
        [(0, "#4A3D44"), (1, "#A5806C")],
    )
    stone = np.where(joint[..., None], stone * 0.62, stone)
    wet = np.clip((level - 118) / 14, 0, 1)[..., None]
    stone = stone * (1 - wet) + wet * (stone * 0.35 + 0.2 * colour("#2B4038"))
    lay(picture, cover(shape, [(x0, y0), (x1, y1), (x1, w1), (x0, w0)]), stone)
    lay(picture, stroke(shape, [(x0, y0), (x1, y1)], 4), colour("#D0AC94"))
    for near_lamp in (0.78, 0.52, 0.37, 0.275, 0.21):
        x, y, _ = quay_place(near_lamp)
        tall = 210 * near_lamp
        lay(
            picture,
            stroke(shape, [(x, y), (x, y - tall)], max(1, round(6 * near_lamp))),
            colour("#2A2630"),
        )
        glow(picture, x, y - tall - 6 * near_lamp, 34 * near_lamp, "#FFD28A", 1.6)
        glow(picture, x, y - tall - 6 * near_lamp, 150 * near_lamp, "#FFB060", 0.28)


def quay_place(near: float) -> tuple[float, float, float]:
    """Screen x, y of the quay's edge and y of its waterline, at a nearness 0..1."""
    return 930 - 990 * near, HORIZON + 58 * near, HORIZON + 150 * near
