"""Conversions against the published tables named in the data files."""

from __future__ import annotations

import numpy as np
import pytest
from support import read_table

from img2plate.colour import spaces

ROWS = read_table("colour-conversions.csv")


def columns(*names: str) -> np.ndarray:
    return np.array([[float(row[name]) for name in names] for row in ROWS])


SRGB = columns("R8", "G8", "B8") / 255


def test_linear_light_is_that_of_iec_61966_2_1() -> None:
    wanted = columns("linR", "linG", "linB")
    np.testing.assert_allclose(spaces.srgb2linear(SRGB), wanted, atol=1e-6)
    np.testing.assert_allclose(
        spaces.bytes2linear(columns("R8", "G8", "B8").astype(np.uint8)), wanted, atol=1e-6
    )


def test_xyz_and_lab_are_those_of_cie_15() -> None:
    linear = spaces.srgb2linear(SRGB)
    np.testing.assert_allclose(spaces.linear2xyz(linear), columns("X", "Y", "Z"), atol=1e-6)
    wanted = columns("L_star", "a_star", "b_star")
    np.testing.assert_allclose(spaces.linear2lab(linear), wanted, atol=1e-4)
    assert spaces.linear2lab(np.ones(3)) == pytest.approx([100, 0, 0], abs=1e-9)


def test_oklab_is_ottossons() -> None:
    oklab = spaces.linear2oklab(spaces.srgb2linear(SRGB))
    np.testing.assert_allclose(oklab, columns("OKL_direct", "OKa_direct", "OKb_direct"), atol=2e-6)
    np.testing.assert_allclose(oklab, columns("OKL", "OKa", "OKb"), atol=2e-4)


def test_oklab_of_ottossons_xyz_pairs() -> None:
    rows = read_table("oklab-xyz-pairs.csv")
    names = list(rows[0])
    table = np.array([[float(row[name]) for name in names[:6]] for row in rows])
    oklab = spaces.linear2oklab(spaces.xyz2linear(table[:, :3]))
    np.testing.assert_allclose(oklab, table[:, 3:6], atol=1.5e-3)


@pytest.mark.parametrize(
    ("there", "back"),
    [
        (spaces.srgb2linear, spaces.linear2srgb),
        (spaces.linear2xyz, spaces.xyz2linear),
        (spaces.linear2lab, spaces.lab2linear),
        (spaces.linear2oklab, spaces.oklab2linear),
    ],
)
@pytest.mark.parametrize("dtype", [np.float32, np.float64])
def test_each_conversion_has_an_inverse_and_keeps_the_dtype(there, back, dtype) -> None:
    colours = np.random.default_rng(3).random((50, 3)).astype(dtype)
    out = there(colours)
    assert out.dtype == dtype
    np.testing.assert_allclose(back(out), colours, atol=2e-5 if dtype == np.float32 else 1e-9)


def test_dark_tones_come_back_from_cielab() -> None:
    """On both sides of CIE 15's (6/29)^3, and where one channel is dark and another is not."""
    steps = np.array([0, 1e-4, 2e-3, 0.0088, 0.0089, 0.02, 0.7])
    xyz = np.stack(np.meshgrid(steps, steps, steps), axis=-1)
    np.testing.assert_allclose(spaces.lab2xyz(spaces.xyz2lab(xyz)), xyz, atol=1e-12)


def test_all_bytes_come_back() -> None:
    every = np.arange(256, dtype=np.uint8)
    assert (spaces.linear2bytes(spaces.bytes2linear(every)) == every).all()


def test_hex() -> None:
    assert spaces.hex2srgb("#0aFF10") == (10, 255, 16)
    assert spaces.srgb2hex((10, 255, 16)) == "#0AFF10"
    for wrong in ("#12345", "red", "#12345G", ""):
        with pytest.raises(ValueError, match="RRGGBB"):
            spaces.hex2srgb(wrong)
