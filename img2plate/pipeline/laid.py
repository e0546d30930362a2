"""How a pack was laid out, kept in its plate document so that `sheets` can repeat the run.

What belongs to a printer (what its rulers measure, its margin) or to one run (where it is written)
is not the plate's, and is not kept. The pitch lies in the document's palette, title, author and
licence beside it.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping
from dataclasses import fields, replace
from decimal import Decimal
from typing import Any, NamedTuple

from img2plate.base.credit import Credit
from img2plate.base.errors import DocumentError, OptionError
from img2plate.base.lengths import find_paper, parse_boards
from img2plate.pipeline.options import PackOptions
from img2plate.plate.plate import Plate
from img2plate.split.by_hand import WAYS, read_seams
from img2plate.split.rounds_by_hand import parse_rounds
from img2plate.tally.bags import Bag, Bags
from img2plate.typeset.sheets.printing import is_mirrored


class _Kept(NamedTuple):
    """How a field is written as JSON, and read."""

    write: Callable[[Any], Any]
    read: Callable[[Any], Any]


def laid_as(options: PackOptions) -> dict[str, Any]:
    """What a document keeps of the options, in plain JSON types."""
    return {name: kept.write(getattr(options, name)) for name, kept in KEPT.items()}


def as_laid(
    plate: Plate,
    options: PackOptions,
    given: Collection[str] | None = None,
    *,
    resized: bool = False,
) -> tuple[PackOptions, tuple[str, ...]]:
    """Options as a plate was laid out, and a note of each that is another now.

    given: fields that are to be as `options` says; None for those that differ from the defaults.
    resized: the plate has another size since, so that its seams by hand and its rounds do not hold.
    Raises DocumentError when what the document says makes no sense.
    """
    if given is None:
        given = {f.name for f in fields(options) if getattr(options, f.name) != _default(f.name)}
    laid, given = read_laid(plate.laid), frozenset(given)
    notes = [
        f"`{name}` {_said(name, getattr(options, name))}, in place of {_said(name, laid[name])}"
        " as the plate was laid out"
        for name in laid
        if name in given and getattr(options, name) != laid[name]
    ]
    if options.pitch_mm not in (None, plate.palette.pitch_mm):
        notes.append(
            f"`pitch_mm` {options.pitch_mm:g}, in place of {plate.palette.pitch_mm:g} as the plate"
            " says"
        )
    kept = {name: value for name, value in laid.items() if name not in given}
    other = {name for name in given & laid.keys() if getattr(options, name) != laid[name]}
    notes += _let_go(kept, board=resized or "board" in other, seams="seams" in other)
    return replace(options, **kept), (*notes, *_credit_notes(plate.credit, options.credit))


def _let_go(kept: dict[str, Any], *, board: bool, seams: bool) -> list[str]:
    """Take out what names boards of another cut, and say so; which of the two are others now."""
    notes = []
    if board and kept.get("seams", "full") not in WAYS:
        notes.append(f"seams after {kept.pop('seams')} were for other boards, and are left out")
    if (board or seams) and kept.get("rounds"):
        kept.pop("rounds")
        notes.append("the rounds named boards of another cut, and are left out; see `rounds`")
    return notes


def _credit_notes(old: Credit, new: Credit) -> list[str]:
    """What a plate says of itself that is replaced."""
    return [
        f"`{name}` {text}, in place of {getattr(old, name)}"
        for name, text in vars(new).items()
        if text and getattr(old, name) not in ("", text)
    ]


def read_laid(laid: Mapping[str, Any]) -> dict[str, Any]:
    """The fields that a document states; what a newer version added is passed over.

    Raises DocumentError for what makes no sense.
    """
    found = {}
    for name, value in laid.items():
        if name not in KEPT:
            continue
        try:
            found[name] = KEPT[name].read(value)
        except (OptionError, ValueError, TypeError, KeyError, AttributeError, ArithmeticError):
            raise DocumentError(
                f"the plate says it was laid out with `{name}` {str(value)[:40]!r}, which makes no"
                " sense",
                remedy="save it without metadata, and name its `palette`",
            ) from None
    return found


def _default(name: str) -> Any:
    """What a field is when nothing is said."""
    return getattr(PackOptions(), name)


def _said(name: str, value: Any) -> str:
    """A value in a note."""
    plain = KEPT[name].write(value)
    if isinstance(plain, bool):
        return "on" if plain else "off"
    if isinstance(plain, dict):
        return "other bags"
    return "none" if plain is None else str(plain)


def _number(low: float, high: float) -> _Kept:
    """A number between two."""

    def read(value: Any) -> float:
        if isinstance(value, bool) or not low <= float(value) <= high:
            raise ValueError(value)
        return float(value)

    return _Kept(lambda value: value, read)


def _whole(value: Any) -> int:
    """A whole number over 0."""
    if type(value) is not int or not 0 < value <= 100_000:
        raise ValueError(value)
    return value


def _seams(value: Any) -> str:
    read_seams(value)
    return str(value)


def _front(value: Any) -> str:
    is_mirrored(value)
    return str(value)


def _flag(value: Any) -> bool:
    if not isinstance(value, bool):
        raise ValueError(value)
    return value


def _write_rounds(rounds: Any) -> Any:
    return None if rounds is None else "/".join(",".join(names) for names in rounds)


def _write_bags(bags: Bags | None) -> Any:
    """Beads, grams and price of each bag, by code."""

    def plain(bag: Bag) -> list[Any]:
        return [bag.beads, bag.grams, None if bag.price is None else str(bag.price)]

    if bags is None:
        return None
    usual = None if bags.usual is None else plain(bags.usual)
    return {"usual": usual, "own": {code: plain(bag) for code, bag in bags.own.items()}}


def _read_bags(value: Any) -> Bags | None:
    def bag(row: Any) -> Bag:
        beads, grams, price = row
        if type(beads) is not int or beads < 0 or not (beads or 0 < float(grams) < 1e6):
            raise ValueError(row)
        paid = None if price is None else Decimal(str(price))
        if paid is not None and not (paid.is_finite() and 0 <= paid < 10**9):
            raise ValueError(row)
        return Bag(beads, float(grams), paid)

    if value is None:
        return None
    usual = None if value["usual"] is None else bag(value["usual"])
    return Bags(usual, {str(code): bag(row) for code, row in value["own"].items()})


def _or_none(read: Callable[[Any], Any]) -> Callable[[Any], Any]:
    return lambda value: None if value is None else read(value)


KEPT: dict[str, _Kept] = {
    "board": _Kept(str, parse_boards),
    "paper": _Kept(lambda paper: paper.name, find_paper),
    "thickness_mm": _number(0.5, 20),
    "spare_percent": _number(0, 10_000),
    "pace": _number(1, 100_000),
    "seams": _Kept(str, _seams),
    "smallest_tile": _Kept(int, _whole),
    "boards_owned": _Kept(lambda value: value, _or_none(_whole)),
    "rounds": _Kept(_write_rounds, _or_none(parse_rounds)),
    "front": _Kept(str, _front),
    "runs": _Kept(bool, _flag),
    "template": _Kept(bool, _flag),
    "bags": _Kept(_write_bags, _read_bags),
}
"""Fields of `PackOptions` that a document keeps."""
NOT_KEPT = frozenset({"out", "pitch_mm", "printer_measured", "margin_mm", "zip", "credit"})
"""All others; see above for why."""
