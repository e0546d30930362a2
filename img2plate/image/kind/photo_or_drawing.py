"""Photo or drawing: a logistic score of a picture's traits, and the words for it."""

from __future__ import annotations

from img2plate.image.kind.traits import Traits

WEIGHTS = {
    "edges": -2.39, "half_edges": -6.22, "rim": -5.13, "textured": 0.28, "smooth": 10.6,
    "equal": -13.03, "clear": -4.56, "few": -1.99,
}  # fmt: skip
START = 9.68
"""Fitted to the pictures of bench/kinds_set.py of over 64 px that are not kept unseen."""
SURE = 3.0
"""Score of either sign from which on it is sure: 1 in 20 by the formula, none of those seen."""
SURE_AFAR = 4.0
"""The same of a large picture made smaller: noise on flat cells scores up to 3.3."""
FLAT_WORDS = (
    ("clear", 0.05, "it stands on a see-through ground"),
    ("equal", 0.45, "most of it is flat"),
    ("edges", 0.6, "what changes lies in thin edges"),
    ("rim", 0.8, "it stands on a plain ground"),
    ("few", 0.7, "it has few colours"),
)
TEXTURE_WORDS = (
    ("textured", 0.35, "most of it is textured"),
    ("equal", -0.25, "hardly two pixels next to each other are alike"),
    ("edges", -0.55, "what changes lies everywhere"),
    ("few", -0.6, "it has many colours"),
)
"""What is said where a trait is over a limit, or under one that is given as less than 0."""


def photo_score(seen: Traits) -> float:
    """Over 0 for a photo, below for a drawing."""
    return START + float(sum(weight * getattr(seen, name) for name, weight in WEIGHTS.items()))


def why(seen: Traits, *, photo: bool) -> str:
    """The one or two reasons that a person would see."""
    found = [
        words
        for name, limit, words in (TEXTURE_WORDS if photo else FLAT_WORDS)
        if (getattr(seen, name) >= limit if limit > 0 else getattr(seen, name) <= -limit)
    ]
    return " and ".join(found[:2]) or ("by its tones" if photo else "by its edges")
