"""Photo or drawing: a logistic score of a picture's traits, and the words for it."""

from __future__ import annotations

from img2plate.image.kind.traits import Traits

WHOLE_START, ON_GROUND_START = 3.53, 6.69
WHOLE = {
    "half_edges": -8.53, "rim": -3.91, "smooth": 7.80, "equal": -8.60, "clear": -5.62,
    "tones": 1.11,
}  # fmt: skip
ON_GROUND = {
    "same_within": -6.56, "soft_within": 5.82, "few_within": -5.28, "half_edges": -8.05,
    "smooth": 4.93, "rim": -3.17,
}  # fmt: skip
"""Of a picture that fills its frame, and of something on an even or see-through ground, which a
photo that was cut out has as well. Fitted to the pictures of bench/kinds_set.py of over 64 px that
are not kept unseen."""
SURE = 3.0
"""Score of either sign from which on it is sure: 1 in 20 by the formula, none of those seen."""
LEAST_SPREAD = 5.0
"""8-bit steps by which greys differ in a picture that shows enough to be sure."""
SURE_AFAR = 4.0
"""The same of a large picture made smaller: noise on flat cells scores up to 3.3."""
FLAT_WORDS = (
    ("clear", 0.05, "it stands on a see-through ground"),
    ("equal", 0.4, "most of it is flat"),
    ("half_edges", 0.85, "what changes lies in thin edges"),
    ("rim", 0.8, "it stands on a plain ground"),
    ("tones", -3.5, "it has few tones"),
)
TEXTURE_WORDS = (
    ("smooth", -0.4, "most of it is textured"),
    ("equal", -0.25, "hardly two pixels next to each other are alike"),
    ("same_within", -0.3, "hardly two pixels next to each other are alike within it"),
    ("half_edges", -0.75, "light changes everywhere"),
    ("tones", 4.3, "it has many tones"),
)
"""What is said where a trait is over a limit, or under one that is given as less than 0."""


def photo_score(seen: Traits) -> float:
    """Over 0 for a photo, below for a drawing."""
    start, weights = (ON_GROUND_START, ON_GROUND) if seen.on_ground else (WHOLE_START, WHOLE)
    return start + float(sum(weight * getattr(seen, name) for name, weight in weights.items()))


def is_sure(seen: Traits) -> bool:
    """Whether a score is far enough from 0, and the picture of those for which it tells."""
    return abs(photo_score(seen)) >= SURE and seen.spread >= LEAST_SPREAD


def why(seen: Traits, *, photo: bool) -> str:
    """The one or two reasons that a person would see."""
    found = [
        words
        for name, limit, words in (TEXTURE_WORDS if photo else FLAT_WORDS)
        if (getattr(seen, name) >= limit if limit > 0 else getattr(seen, name) <= -limit)
    ]
    return " and ".join(found[:2]) or ("by its tones" if photo else "by its edges")
