"""Differences against the published pairs and against scikit-image."""

from __future__ import annotations

import numpy as np
import pytest
from support import read_table

from img2plate.colour.difference import delta_E_CIE1976, delta_E_CIE2000, delta_E_HyAB


def pairs(name: str) -> tuple[np.ndarray, np.ndarray, list[dict[str, str]]]:
    rows = read_table(name)
    left = np.array([[float(row[k]) for k in ("L1", "a1", "b1")] for row in rows])
    right = np.array([[float(row[k]) for k in ("L2", "a2", "b2")] for row in rows])
    return left, right, rows


def test_ciede2000_gives_the_34_published_differences() -> None:
    """Sharma, Wu and Dalal 2005, table 1: four decimals, in both orders."""
    left, right, rows = pairs("ciede2000.csv")
    wanted = np.array([float(row["dE00"]) for row in rows])
    assert len(wanted) == 34
    np.testing.assert_allclose(delta_E_CIE2000(left, right), wanted, atol=5.1e-5)
    np.testing.assert_allclose(delta_E_CIE2000(right, left), wanted, atol=5.1e-5)


def test_ciede2000_is_scikit_images_on_random_colours() -> None:
    from skimage.color import deltaE_ciede2000

    rng = np.random.default_rng(5)
    left, right = (rng.uniform([0, -90, -90], [100, 90, 90], (20_000, 3)) for _ in range(2))
    np.testing.assert_allclose(
        delta_E_CIE2000(left, right), deltaE_ciede2000(left, right), atol=1e-9
    )


def test_hyab_table() -> None:
    """Abasi, Amani Tehran and Fairchild 2020."""
    left, right, rows = pairs("hyab.csv")
    hyab = next(key for key in rows[0] if "hyab" in key.lower())
    wanted = [float(row[hyab]) for row in rows]
    np.testing.assert_allclose(delta_E_HyAB(left, right), wanted, atol=1e-4)


def test_cie1976_is_the_euclidean_distance() -> None:
    assert delta_E_CIE1976(np.array([50.0, 0, 0]), np.array([50.0, 3, 4])) == pytest.approx(5)
