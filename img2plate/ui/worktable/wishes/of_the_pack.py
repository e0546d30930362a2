"""Which settings make the plate, and which only its pack: seams, paper, printing, counting.

Another pack of a plate needs no other beads, so that the plate is not made again for it.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from img2plate.split.by_hand import WAYS
from img2plate.ui.worktable.wishes.settings import Settings, key_of

OF_THE_PACK = (
    "paper", "thickness_mm", "spare_percent", "pace", "seams", "smallest_tile", "boards_owned",
    "rounds", "front", "printer_measured", "margin_mm", "runs", "template", "bag", "bag_price",
    "title", "author", "licence",
)  # fmt: skip
"""Not the board and the pitch: a size that is given in boards or mm depends on them."""
_ADVISED = ("bag", "bag_price")
"""These are looked at when beads to buy are told, while the plate is made."""
_LEFT_OVER = ("spare_percent",)
"""A plate that keeps to a stock leaves its spare beads there."""


def plate_only(settings: Mapping[str, Any]) -> Settings:
    """The part of settings that the beads depend on."""
    kept: tuple[str, ...] = _ADVISED if settings.get("stock_advice") else ()
    kept += _LEFT_OVER if settings.get("stock") else ()
    return {
        name: value for name, value in settings.items() if name not in OF_THE_PACK or name in kept
    }


def pack_only(settings: Mapping[str, Any]) -> Settings:
    """The other part: how a plate is cut, counted and printed."""
    return {name: value for name, value in settings.items() if name in OF_THE_PACK}


def plate_key(settings: Mapping[str, Any]) -> str:
    """A short name for a plate; the same for all packs of it."""
    return key_of({"a plate of": "", **plate_only(settings)})


def with_pack_of(settings: Mapping[str, Any], hand: Mapping[str, Any]) -> Settings:
    """A proof's settings for its plate, with the pack's of the plate in hand.

    Seams and rounds by hand stay with the plate that they were made for.
    """
    pack = pack_only(hand)
    if plate_key(settings) != plate_key(hand):
        pack.pop("rounds", None)
        if pack.get("seams", WAYS[0]) not in WAYS:
            del pack["seams"]
    return {**plate_only(settings), **pack}
