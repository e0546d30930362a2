"""Numbers with their nouns, hours that are never none, names that stay in their folder."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from img2plate.base.errors import OptionError
from img2plate.base.files import plain_name
from img2plate.base.words import many
from img2plate.tally.effort import Effort


def test_one_is_one() -> None:
    assert [many(n, "colour") for n in (0, 1, 2, 1200)] == [
        "0 colours", "1 colour", "2 colours", "1,200 colours",
    ]  # fmt: skip
    assert Effort(1, 0, 0, 900).number == "under 0.1"
    assert Effort(3600, 0, 0, 900).number != "under 0.1"


@pytest.mark.parametrize("name", ["", ".", "..", "../x", "a/b", "a\\b", "C:x", "a\0b"])
def test_a_name_that_leads_elsewhere_is_refused(name: str) -> None:
    with pytest.raises(OptionError, match="another"):
        plain_name(name)


@given(st.text(st.characters(blacklist_characters="/\\:\0"), min_size=3))
def test_any_other_name_is_taken(name: str) -> None:
    assert plain_name(name) == name
