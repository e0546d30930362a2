"""What a description says once: numbers by name, parts like others, and several of a part.

[variables]
leg = 5

[[part]]
name = "leg"
size = ["= leg", "= leg", "= 2 * leg"]
count = 2                          # makes "leg 1" and "leg 2"
at = [[0, 0, 0], [12, 0, 0]]       # a place for each
mirror = ["", "x"]                 # the second is the mirror image of the first

[[part]]
name = "paw"
like = "leg"                       # all but its place; what is said here goes first
"""

from __future__ import annotations

import ast
import operator
from copy import deepcopy
from dataclasses import dataclass
from typing import Any

from img2plate.solid.file.toml_table import Table
from img2plate.solid.mirror import AXES

MOST_COPIES = 100
MOST_NUMBER = 1e9
_OWN = (
    "name",
    "like",
    "count",
    "mirror",
    "at",
    "on",
    "under",
    "beside",
    "plug",
    "inside",
    "level",
    "shift",
)
"""Keys that a part does not take from the one it is like."""
_SIGNS = {
    ast.Add: operator.add, ast.Sub: operator.sub, ast.Mult: operator.mul,
    ast.Div: operator.truediv, ast.FloorDiv: operator.floordiv,
}  # fmt: skip


@dataclass(frozen=True, eq=False)
class Copy:
    """One part to be read."""

    table: Table
    of: str
    """The name that it was given; its own has a number when there are several."""
    mirror: int | None = None
    """Axis along which it is turned round."""


def with_variables(file: Table) -> Table:
    """The file with every text "= ..." worked out. Raises FigureError for what cannot be."""
    known: dict[str, float] = {}
    table = file.table("variables")
    for name in table.keys():  # noqa: SIM118
        known[name] = _worked_out(table, name, table.take(name), known)
    values = {key: _filled(file, key, value, known) for key, value in file.values().items()}
    return file.replaced(values)


def _filled(table: Table, key: str, value: Any, known: dict[str, float]) -> Any:
    """A value with what is in it worked out."""
    if isinstance(value, dict):
        return {name: _filled(table, f"{key}, {name}", v, known) for name, v in value.items()}
    if isinstance(value, list):
        return [_filled(table, key, entry, known) for entry in value]
    if isinstance(value, str) and value.lstrip().startswith("="):
        return _worked_out(table, key, value, known)
    return value


def _worked_out(table: Table, key: str, value: Any, known: dict[str, float]) -> Any:
    """A number, or what comes out of "= a + 2"; whole where it is whole."""
    if isinstance(value, str) and value.lstrip().startswith("="):
        text = value.lstrip()[1:].strip()
        try:
            value = _sum(ast.parse(text, mode="eval").body, known)
        except (SyntaxError, ValueError, ArithmeticError, RecursionError, MemoryError):
            names = ", ".join(known) or "none"
            reason = f'"{value}" is no sum of numbers and variables (there are: {names})'
            raise table.error(key, reason) from None
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise table.error(key, f"{value!r} is not a number")
    if not -MOST_NUMBER <= value <= MOST_NUMBER:
        raise table.error(key, "is larger than any length of a figure")
    return int(value) if float(value).is_integer() else value


def _sum(node: ast.expr, known: dict[str, float]) -> float:
    """The value of a sum, with + - * / // and brackets."""
    if isinstance(node, ast.Constant) and type(node.value) in (int, float):
        return node.value  # type: ignore[return-value]
    if isinstance(node, ast.Name) and node.id in known:
        return known[node.id]
    if isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.USub):
        return -_sum(node.operand, known)
    if isinstance(node, ast.BinOp) and type(node.op) in _SIGNS:
        return float(_SIGNS[type(node.op)](_sum(node.left, known), _sum(node.right, known)))
    raise ValueError(node)


def parts_said(file: Table) -> list[Copy]:
    """All parts of a file, those that are like others or several written out.

    Raises FigureError with the key.
    """
    said: dict[str, dict[str, Any]] = {}
    found: list[Copy] = []
    for table in file.tables("part"):
        values = _like(table, said)
        name = values.get("name")
        if isinstance(name, str):
            said.setdefault(name, values)
        found += _copies(table, values)
    return found


def _like(table: Table, said: dict[str, dict[str, Any]]) -> dict[str, Any]:
    """A part's values, with those of the part that it is like."""
    like = table.text("like", "")
    values = table.values()
    if not like:
        return values
    if like not in said:
        raise table.error("like", f"no part {like!r} stands above this one")
    base = {key: value for key, value in deepcopy(said[like]).items() if key not in _OWN}
    both = (base.get("faces"), values.get("faces"))
    if all(isinstance(faces, dict) for faces in both):
        values["faces"] = {**base["faces"], **values["faces"]}
    return {**base, **values}


def _copies(table: Table, values: dict[str, Any]) -> list[Copy]:
    """The part, or as many of it as it says."""
    each = table.replaced(values)
    at = each.values().get("at")
    many = isinstance(at, list) and len(at) > 0 and all(isinstance(place, list) for place in at)
    count = each.whole("count", len(at) if many and isinstance(at, list) else 1, 1, MOST_COPIES)
    several = many or "count" in values
    mirrors = each.texts("mirror")
    name = str(values.get("name", ""))
    found = []
    for number in range(count):
        own = {key: value for key, value in values.items() if key not in ("count", "mirror")}
        for key in ("at", "shift"):
            given = values.get(key)
            if several and isinstance(given, list) and any(isinstance(g, list) for g in given):
                if len(given) != count:
                    raise each.error(key, f"has {len(given)} places for {count} parts")
                own[key] = given[number]
        if several:
            own["name"] = f"{name} {number + 1}"
        found.append(Copy(each.replaced(own), name, _mirror(each, mirrors, number, count)))
    return found


def _mirror(table: Table, mirrors: tuple[str, ...], number: int, count: int) -> int | None:
    """The axis that a copy is mirrored along; one word is for all of them."""
    if len(mirrors) not in (0, 1, count):
        raise table.error("mirror", f"has {len(mirrors)} words for {count} parts")
    word = mirrors[number if len(mirrors) > 1 else 0] if mirrors else ""
    if word not in ("", *AXES):
        raise table.error("mirror", f'{word!r} is neither "x" (left for right) nor "y" (front for'
                          ' back)')  # fmt: skip
    return AXES.get(word)


def joins_said(table: Table, copies: dict[str, list[str]], usual: str) -> list[tuple[Table, str]]:
    """A join and its usual name, or one for each of the several parts that it names.

    Raises FigureError where it names two parts of which there are different numbers.
    """
    values = table.values()
    between = values.get("between")
    if not isinstance(between, list) or not all(isinstance(text, str) for text in between):
        return [(table, usual)]
    named = [text.rpartition(".")[::2] for text in between]
    several = [copies[part] for part, _ in named if copies.get(part, [part]) != [part]]
    if not several:
        return [(table, usual)]
    if len({len(names) for names in several}) > 1:
        raise table.error("between", "joins two parts of which there are different numbers")
    found = []
    for number in range(len(several[0])):
        own = [f"{copies[part][number] if copies.get(part, [part]) != [part] else part}.{face}"
               for part, face in named]  # fmt: skip
        name = f"{values.get('name', usual)} {number + 1}"
        found.append((table.replaced({**values, "between": own, "name": name}), name))
    return found
