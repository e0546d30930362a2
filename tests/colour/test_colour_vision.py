"""Colour-vision deficiency against the values that the published matrices give."""

from __future__ import annotations

import numpy as np
import pytest
from support import read_table

from img2plate.colour.colour_vision import MACHADO_2009, grey_print, least_contrasts, simulate
from img2plate.colour.spaces import srgb2linear


def test_simulated_colours_are_those_of_the_matrices() -> None:
    """Machado, Oliveira and Fernandes 2009, severity 1.0."""
    for row in read_table("cvd-check.csv"):
        srgb = np.frombuffer(bytes.fromhex(row["input"][1:]), np.uint8) / 255
        wanted = [float(row[name]) for name in ("linR", "linG", "linB")]
        seen = simulate(srgb2linear(srgb), row["deficiency"])
        np.testing.assert_allclose(seen, wanted, atol=2e-6)


def test_greys_stay_greys() -> None:
    grey = np.repeat(np.linspace(0, 1, 11)[:, None], 3, axis=1)
    for name in MACHADO_2009:
        np.testing.assert_allclose(simulate(grey, name), grey, atol=2e-6)
    np.testing.assert_allclose(grey_print(grey), grey, atol=1e-12)


def test_least_contrast_is_that_of_the_worst_sight() -> None:
    """Black on pure red: 5.25 for most eyes (WCAG), 3.3 for a protanope, 2.5 printed in grey."""
    red = np.array([[1.0, 0.0, 0.0]])
    lights = {name: simulate(red, name)[0] for name in MACHADO_2009} | {"grey": grey_print(red)[0]}
    ratios = {
        name: (light @ [0.2126, 0.7152, 0.0722] + 0.05) / 0.05 for name, light in lights.items()
    }
    assert ratios["protanopia"] == pytest.approx(3.29, abs=0.01)
    assert ratios["grey"] == pytest.approx((0.3 + 0.055) ** 2.4 / 1.055**2.4 / 0.05 + 1, abs=0.01)
    assert least_contrasts(red, 0.0)[0] == pytest.approx(min(ratios.values()))
