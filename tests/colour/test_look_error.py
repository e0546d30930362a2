"""S-CIELAB against its stated properties and an independent implementation; specks; SSIM."""

from __future__ import annotations

import numpy as np
import pytest

from img2plate.colour.look_error import (
    PARAMETERS,
    XYZ2OPPONENT,
    View,
    _ssim,
    default_distance_m,
    look_error,
    seen_lab,
    similarity,
    speck_share,
)
from img2plate.colour.spaces import RGB2XYZ, linear2lab, xyz2lab

VIEW = View(2.0, 5.0)


def noise(side: int, seed: int = 0) -> np.ndarray:
    return np.random.default_rng(seed).random((side, side, 3)).astype(np.float32)


@pytest.mark.parametrize("parameters", list(PARAMETERS))
def test_even_pictures_give_plain_cielab_differences(parameters: str) -> None:
    one, two = np.array([0.2, 0.5, 0.1], np.float32), np.array([0.6, 0.3, 0.3], np.float32)
    plain = np.linalg.norm(linear2lab(one) - linear2lab(two))
    error = look_error(
        np.tile(one, (60, 60, 1)), np.tile(two, (10, 10, 1)), VIEW, parameters=parameters
    )
    assert error == pytest.approx(plain, rel=1e-4)


def test_identical_pictures_give_nothing() -> None:
    plate = noise(12)
    assert look_error(plate.repeat(4, 0).repeat(4, 1), plate, VIEW) == pytest.approx(0, abs=1e-3)


def test_a_fine_checkerboard_nears_its_mean_as_one_steps_back() -> None:
    """Zhang and Wandell 1996: the difference falls with samples per degree."""
    board = (np.indices((24, 24)).sum(axis=0) % 2)[..., None].repeat(3, 2).astype(np.float32)
    mean = np.full((24 * 4, 24 * 4, 3), 0.5, np.float32)
    errors = [look_error(mean, board, View(metres, 5.0)) for metres in (0.5, 1, 2, 4, 8, 16)]
    assert errors == sorted(errors, reverse=True)
    assert errors[-1] < errors[0] / 20


@pytest.mark.parametrize("parameters", list(PARAMETERS))
def test_against_plain_convolutions_with_the_papers_table(parameters: str) -> None:
    """Written again from the table: whole two-dimensional kernels, mirrored border."""
    from scipy.signal import fftconvolve  # slow to import

    table = {
        "published-1996": [[(0.921, 0.0283), (0.105, 0.133), (-0.108, 4.336)],
                           [(0.531, 0.0392), (0.33, 0.494)], [(0.488, 0.0536), (0.371, 0.386)]],
        "reference-code": [[(1.00327, 0.05), (0.114416, 0.225), (-0.117686, 7.0)],
                           [(0.616725, 0.0685), (0.383275, 0.826)],
                           [(0.567885, 0.092), (0.432115, 0.6451)]],
    }[parameters]  # fmt: skip
    matrix = np.array([[0.2787336, 0.7218031, -0.106552], [-0.4487736, 0.2898056, 0.0771569],
                       [0.0859513, -0.5899859, 0.5011089]])  # fmt: skip
    np.testing.assert_array_equal(XYZ2OPPONENT, matrix)
    narrower = np.sqrt(2 if parameters == "published-1996" else 2 * np.log(2))
    for ours, theirs in zip(PARAMETERS[parameters], table, strict=True):
        assert [w for w, _ in ours] == [w for w, _ in theirs]
        assert [s * narrower for _, s in ours] == pytest.approx([s for _, s in theirs])
    picture, per_cell = noise(48, 5).astype(np.float64), 8
    step = VIEW.cell_degrees / per_cell
    opponent = picture @ RGB2XYZ.T @ matrix.T
    out = np.zeros_like(opponent)
    for channel, gaussians in enumerate(table):
        padded = np.pad(opponent[..., channel], 480, mode="symmetric")
        at = (np.arange(961) - 480) * step
        kernel = np.zeros((961, 961))
        for weight, width in gaussians:
            square = width**2 if parameters == "published-1996" else width**2 / np.log(2)
            bell = np.exp(-(at[:, None] ** 2 + at**2) / square)
            kernel += weight * bell / bell.sum()
        kernel /= sum(weight for weight, _ in gaussians)
        out[..., channel] = fftconvolve(padded, kernel, mode="valid")
    wanted = xyz2lab(out @ np.linalg.inv(matrix).T)
    seen = seen_lab(picture.astype(np.float32), VIEW, per_cell, parameters=parameters)
    assert np.abs(seen - wanted).mean() < 0.25
    assert np.abs(seen - wanted).max() < 2.5


@pytest.mark.parametrize(("size", "window"), [((3, 9), 3), ((4, 4), 3), ((6, 9), 5), ((30, 8), 7)])
def test_similarity_of_small_plates_takes_the_largest_odd_window(
    size: tuple[int, int], window: int
) -> None:
    from skimage.metrics import structural_similarity

    rng = np.random.default_rng(1)
    one, two = rng.uniform(0, 100, (2, *size)).astype(np.float32)
    wanted = structural_similarity(one, two, data_range=100.0, win_size=window)
    assert _ssim(one, two) == pytest.approx(wanted)


def test_plates_too_small_for_a_window_are_as_they_are() -> None:
    assert _ssim(np.zeros((2, 50), np.float32), np.ones((2, 50), np.float32)) == 1.0


def test_a_raster_four_times_finer_changes_the_figure_by_less_than_a_hundredth() -> None:
    import skimage.data
    from PIL import Image

    photo = Image.fromarray(skimage.data.chelsea()).crop((60, 0, 360, 300))
    cells = 20
    plate = np.asarray(
        photo.resize((cells, cells), Image.Resampling.BOX).quantize(8).convert("RGB")
    )
    plate = (plate / 255.0).astype(np.float32) ** 2.2
    errors = []
    for per_cell in (VIEW.per_cell, 4 * VIEW.per_cell):
        side = cells * per_cell
        fine = np.asarray(photo.resize((side, side), Image.Resampling.BOX)) / 255.0
        errors.append(look_error((fine**2.2).astype(np.float32), plate, VIEW))
    assert errors[0] == pytest.approx(errors[1], rel=0.01)


def test_cells_that_do_not_count() -> None:
    plate, cover = noise(12), np.ones((12, 12), bool)
    source = plate.repeat(4, 0).repeat(4, 1).copy()
    source[:24] = 0
    cover[:6] = False
    assert look_error(source, plate, VIEW, cover=cover) == pytest.approx(0, abs=1e-3)


def test_default_distance() -> None:
    assert default_distance_m((100, 100)) == 0.5
    assert default_distance_m((300, 400)) == pytest.approx(1.0)


def test_specks_are_beads_without_a_like_neighbour() -> None:
    cells = np.array([[0, 0, 1], [2, 1, 1], [2, 0, -1]], np.int16)
    assert speck_share(cells) == pytest.approx(1 / 8)
    assert speck_share(np.full((3, 3), -1, np.int16)) == 0
    assert speck_share(np.array([[3]], np.int16)) == 1


def test_similarity_is_one_for_the_same_and_falls_with_noise() -> None:
    plate = noise(20)
    source = plate.repeat(4, 0).repeat(4, 1)
    assert similarity(source, plate, VIEW) == pytest.approx(1, abs=1e-6)
    assert similarity(source, noise(20, 9), VIEW) < 0.7
