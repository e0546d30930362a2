"""Colours of a figure: beads side by side on its plates and over their joints, by brute force."""

from __future__ import annotations

import numpy as np
from figures_for_tests import PALETTE, figure, part
from hypothesis import given, settings
from hypothesis import strategies as st

from img2plate.solid.faces import FACES, face_size
from img2plate.solid.usage import usage_of_figure


@settings(max_examples=8, deadline=None)
@given(seed=st.integers(0, 10_000))
def test_beads_meet_on_plates_and_over_joints_but_not_back_to_back(seed: int) -> None:
    rng = np.random.default_rng(seed)

    def drawn(*size: int) -> dict[str, np.ndarray]:
        sizes = {face: face_size(face, (size[0], size[1], size[2])) for face in FACES}
        return {
            face: rng.integers(0, len(PALETTE), (high, wide)).astype(np.int16)
            for face, (wide, high) in sizes.items()
        }

    made = figure(
        part(6, 5, 7, name="one", cells=drawn(6, 5, 7)),
        part(6, 5, 4, name="two", at=(0, 0, 7), cells=drawn(6, 5, 4), loose=True),
    )
    at = {
        tuple(place): (piece, colour)
        for piece in made.pieces
        for place, colour in zip(
            piece.voxels.tolist(), piece.plate.cells[piece.plate.filled].tolist(), strict=True
        )
    }
    wanted = np.zeros((len(PALETTE), len(PALETTE)), int)
    around = np.zeros(len(PALETTE), int)
    for place, (piece, colour) in at.items():
        for axis in range(3):
            beside = tuple(x + (axis == i) for i, x in enumerate(place))
            if beside not in at:
                continue
            other, its = at[beside]
            if colour != its and not piece.axis == other.axis == axis:
                wanted[colour, its] += 1
                wanted[its, colour] += 1
                around[[colour, its]] += 1 if piece.group == other.group else 2
    found = usage_of_figure(made)
    assert (found.border == wanted).all()
    assert (found.around == around).all()
    assert (found.counts == np.bincount([c for _, c in at.values()], minlength=6)).all()
