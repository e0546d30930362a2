"""Figures with all options together are sound, or refused in plain words."""

from __future__ import annotations

import pytest
from hypothesis import HealthCheck, given, settings
from random_figures import assert_sound, figures, said_plainly

from img2plate.base.errors import FigureError
from img2plate.solid.box.build import build
from img2plate.solid.spec import FigureSpec

_CALM = {"deadline": None, "suppress_health_check": list(HealthCheck), "database": None}


def assert_sound_or_refused(spec: FigureSpec) -> None:
    try:
        made = build(spec)
    except FigureError as error:
        said_plainly(str(error))
        return
    assert_sound(made)


@settings(max_examples=300, **_CALM)
@given(figures(9))
def test_random_figures(spec: FigureSpec) -> None:
    assert_sound_or_refused(spec)


@pytest.mark.soak
@settings(max_examples=2000, **_CALM)
@given(figures(16))
def test_more_and_larger_random_figures(spec: FigureSpec) -> None:
    assert_sound_or_refused(spec)
