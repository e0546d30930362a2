"""Whose work a plate is: texts that people write, and licences of SPDX's list."""

from __future__ import annotations

import pytest
from packaging.licenses import canonicalize_license_expression

from img2plate.base.credit import Credit
from img2plate.base.errors import OptionError
from img2plate.base.licences import find_licence, licences


def test_a_licence_is_known_in_large_and_small_letters() -> None:
    found = find_licence(" cc-by-sa-4.0 ")
    assert found.id == "CC-BY-SA-4.0"
    assert found.url == "https://creativecommons.org/licenses/by-sa/4.0/"
    assert len(licences()) > 700
    for licence in licences().values():
        assert licence.name
        assert licence.url.startswith(("http://", "https://"))


def test_the_list_agrees_with_another_copy_of_it() -> None:
    """packaging carries SPDX's list of some other date."""
    for known in ("CC-BY-4.0", "CC-BY-NC-SA-4.0", "CC0-1.0", "MIT", "OFL-1.1", "GPL-3.0-only"):
        assert find_licence(known.lower()).id == canonicalize_license_expression(known)


def test_an_unknown_licence_is_told_with_near_ones() -> None:
    with pytest.raises(OptionError, match=r"CC-BY-4\.0") as told:
        find_licence("CC-BY4.0")
    assert told.value.field == "licence"
    with pytest.raises(OptionError, match=r"such as CC-BY-4\.0"):
        find_licence("all mine")


def test_texts_become_one_line_without_harm() -> None:
    given = Credit("  Gull\n\tby <b>night\x00\x1b[2J", "\u202eMaja\u2066 Holm", "cc0-1.0")
    assert given.checked() == Credit("Gull by <b>night[2J", "Maja Holm", "CC0-1.0")
    assert Credit("מגדלור", "👩‍🎨 Ítalo").checked().words == ("מגדלור", "👩‍🎨 Ítalo", "")
    with pytest.raises(OptionError, match="10,000 letters"):
        Credit("x" * 10_000).checked()
    assert len(Credit("x" * 10_000).cleaned().title) == 200


def test_what_is_left_out_stays() -> None:
    assert Credit(author="Maja").over(Credit("Gull", "Ole", "MIT")) == Credit("Gull", "Maja", "MIT")
