"""Which plates a page proposes for a picture: those of `compare`, other sizes, fewer colours."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from img2plate.image.kind.kind import Kind
from img2plate.image.target import Target
from img2plate.pipeline.options import DEFAULT_PALETTE, MakeOptions
from img2plate.pipeline.proposals import propose
from img2plate.pipeline.variants import CompareOptions
from img2plate.plate.shade.looks import BALANCED
from img2plate.ui.worktable.wishes.files import plain
from img2plate.ui.worktable.wishes.settings import Settings, read_settings, tidied

FEW = "12"
"""Colours of the photo that takes few."""
SMALL, LARGE = "1x1", "3x3"
"""Boards; without a size a picture takes 2 x 2."""
MOST_DOUBLED = 48
"""Cells of a sprite that is also shown at twice its size: on 4 x 4 boards at most."""


def first_look(settings: Mapping[str, Any]) -> Settings:
    """The plate that is ready soonest: nearest colours, in the size and palette of `settings`."""
    kept = {name: value for name, value in settings.items() if name not in ("look", "strength")}
    return tidied({**kept, "shading": "none"})


def proposed(base: Settings, target: Target) -> list[Settings]:
    """Settings of plates that really differ, the likeliest first."""
    make = read_settings(base)
    compared, _ = propose(CompareOptions(make=make), target.grid)
    # As `make` would do it, before all others.
    found = [tidied(base), *(_settings(base, options) for options in compared.variants())]
    found += [tidied({**base, **more}) for more in _more(target)]
    return [each for number, each in enumerate(found) if each not in found[:number]]


def _settings(base: Settings, options: MakeOptions) -> Settings:
    """Settings of one of the plates that `compare` proposes."""
    colours = options.choice.colours
    named = {
        "palette": options.palette,
        "shading": options.shading.shading,
        "look": options.shading.look,
        "colours": "" if colours is None else str(colours),
    }
    return tidied({**base, **named})


def _more(target: Target) -> Iterator[Settings]:
    """Other sizes, and few colours."""
    if target.told.kind.is_sprite:
        height, width = target.grid.cover.shape
        if max(width, height) <= MOST_DOUBLED:
            yield {"width": str(width * 2)}
        return
    yield {"boards": SMALL}
    yield {"boards": LARGE}
    if target.told.kind is Kind.PHOTO:
        yield {"colours": FEW}


def words_for(settings: Mapping[str, Any], kind: Kind | None = None) -> str:
    """What sets a plate apart, in a few words."""
    words = [plain(str(settings.get("palette", DEFAULT_PALETTE)))]
    shading = str(settings.get("shading", "auto"))
    if shading == "search" or (shading == "auto" and kind is Kind.PHOTO):
        words.append(str(settings.get("look", BALANCED)))
    elif shading in ("none", "auto"):
        words.append("flat")
    else:
        words.append(shading)
    for name, text in (("colours", "{} colours"), ("boards", "on {} boards"), ("width", "{} wide")):
        if name in settings:
            words.append(text.format(settings[name]))
    return ", ".join(words)
