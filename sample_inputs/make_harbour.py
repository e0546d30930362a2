"""Render `harbour.jpg`: a harbour at dusk that looks like a photo, from numbers alone.

    python sample_inputs/make_harbour.py [FOLDER]

Numpy, OpenCV and seeded noise; no picture goes in. What makes it a test for shading: a sky and a
sea of smooth tones, stone and plaster with fine texture, small bright windows, haze and grain.
The parts of the scene are in `scene/`.
"""

from __future__ import annotations

import sys
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray
from scene.land import headland, hills, sky
from scene.paint import HEIGHT, WIDTH, Array, colour, lay, normal, restart, stroke
from scene.town import quay, town
from scene.water import boat, sea

HERE = Path(__file__).resolve().parent


def gull(picture: Array, x: float, y: float, span: float, lean: float) -> None:
    """A gull on the wing, two bent strokes."""
    wing = [
        (-1, -0.18 - lean),
        (-0.55, -0.34 - lean / 2),
        (0, 0),
        (0.5, -0.36 + lean / 2),
        (1, -0.12 + lean),
    ]
    bend = np.linspace(-1, 1, 25)
    rise = np.interp(bend, *zip(*wing, strict=True)) - 0.08 * np.sin(np.abs(bend) * np.pi)
    points = list(zip(x + bend * span, y + rise * span, strict=True))
    line = stroke(picture.shape[:2], points, max(1, round(span / 11)))
    line = np.maximum(line, stroke(picture.shape[:2], points[9:16], max(1, round(span / 6))))
    lay(picture, cv2.GaussianBlur(line, (0, 0), 0.7) * 0.85, colour("#343350"))


def finish(picture: Array) -> NDArray[np.uint8]:
    """A lens's softness, darker corners, grain; then 8 bits."""
    down, across = np.mgrid[:HEIGHT, :WIDTH].astype(np.float32)
    soft = cv2.GaussianBlur(picture, (0, 0), 0.7)
    bloom = cv2.GaussianBlur(np.clip(picture - 0.72, 0, 1), (0, 0), 14)
    soft = soft + (1 - soft) * np.clip(bloom * 0.9, 0, 1)
    corner = 1 - 0.3 * (((across - 800) / 1000) ** 2 + ((down - 600) / 800) ** 2) ** 1.4
    grain = cv2.GaussianBlur(normal((HEIGHT, WIDTH)), (0, 0), 0.7) * 0.011
    return np.rint(np.clip(soft * corner[..., None] + grain[..., None], 0, 1) * 255).astype(
        np.uint8
    )


def render() -> NDArray[np.uint8]:
    """Return the scene as sRGB, shape (1200, 1600, 3)."""
    restart(1871)
    picture = sky()
    hills(picture)
    headland(picture)
    town(picture)
    quay(picture)
    fleet = [
        boat(960, 716, 86, "#3E6A84", cabin=False, mast=1.9),
        boat(1180, 762, 120, "#7C4A3C", cabin=True, mast=1.5),
        boat(640, 852, 190, "#2F5A74", cabin=True, mast=1.75),
        boat(1130, 1010, 210, "#A4553C", cabin=False, mast=0.0),
    ]
    sea(picture, fleet)
    for layer in fleet:
        lay(picture, layer.mask, layer.rgb)
    for x, y, span, lean in (
        (1120, 300, 34, 0.1),
        (1195, 258, 26, -0.1),
        (905, 352, 20, 0.15),
        (1010, 205, 17, 0),
        (1440, 240, 30, -0.05),
    ):
        gull(picture, x, y, span, lean)
    return finish(picture)


def main(folder: Path) -> None:
    """Write the picture as a JPEG."""
    bgr = render()[..., ::-1]
    cv2.imwrite(str(folder / "harbour.jpg"), bgr, [cv2.IMWRITE_JPEG_QUALITY, 88])


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else HERE)
