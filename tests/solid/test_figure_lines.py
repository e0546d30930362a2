"""Where keys of a description stand, errors with their line, and edits that change nothing else."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support import SAMPLES

from img2plate.base.errors import FigureError, PaletteError
from img2plate.solid.box.build import build
from img2plate.solid.file.edit import with_value
from img2plate.solid.file.figure_file import read_figure
from img2plate.solid.file.named import named_files
from img2plate.solid.file.places import Places

FIGURES = sorted((SAMPLES / "figures").glob("*.toml"))
# Every construct of TOML 1.0 that could hide a key or look like one.
HARD = '''# [no] = "table"
top = "a # \\" = ["   # a comment
"quoted.key" . \'other\' = 1
[ figure ]
many = [ "x",   # ] not here
  [1, 2], { a = "}", b = [ 3,
4] } ]
text = """
[[part]]
name = "not" \\""""   # after
raw = \'\'\'
a = 1\'\'\'
when = 1979-05-27 07:32:00
[[part]]
name = "one"
faces.front = "f.png"
faces.left = { picture = "l.png", ground = "anc" }\r
[[part.opening]]
face = "top"
[[part.opening]]
face = "left"
[part.deep.down]
key = -1e3
[[part]]
name = "two"
[part.faces]
top = "anc"
'''
VALUES = st.recursive(
    st.booleans() | st.integers(-9, 9) | st.text(max_size=5).map(lambda s: s.replace("\0", "")),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=4), inner),
    max_leaves=8,
)


def ways(value: Any, way: tuple[Any, ...] = ()) -> set[tuple[Any, ...]]:
    """All ways to keys, tables and entries, as the standard library reads them."""
    found = {way} if way else set()
    items = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(
        value, list) else ()  # fmt: skip
    for key, each in items:
        found |= ways(each, (*way, key))
    return found


def at(value: Any, way: tuple[Any, ...]) -> Any:
    for key in way:
        value = value[key]
    return value


def written(value: Any) -> str:
    """A value as TOML writes it."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return '"' + "".join(
            c if c.isprintable() and c not in '"\\' else f"\\U{ord(c):08x}" for c in value
        ) + '"'  # fmt: skip
    if isinstance(value, list):
        return "[" + " , ".join(map(written, value)) + "]"
    if isinstance(value, dict):
        pairs = (f"{written(key)} = {written(each)}" for key, each in value.items())
        return "{ " + ", ".join(pairs) + " }"
    return str(value)


def check(text: str) -> None:
    """The places are those of all keys, and hold what the standard library reads there."""
    figure, places = tomllib.loads(text), Places(text).all
    for way in ways(figure):
        if isinstance(at(figure, way), list) and way not in places:
            assert (*way, 0) in places  # [[tables]] have no place of their own together
            continue
        if way not in places:
            assert any(len(w) > len(way) and w[: len(way)] == way for w in places), way
            continue
        place = places[way]
        assert text[: place.start].count("\n") + 1 >= place.line
        if not place.is_header and place.start < place.end:
            value = tomllib.loads(f"x = {text[place.start : place.end]}")["x"]
            assert value == at(figure, way)


def test_keys_are_found_whatever_stands_around_them() -> None:
    check(HARD)
    places = Places(HARD)
    assert places.line(("part", 1, "faces", "top")) == HARD[: HARD.index("top = \"anc")].count(
        "\n") + 1  # fmt: skip
    assert places.line(("part", 0, "faces", "back")) == places.line(("part", 0, "faces", "front"))
    assert places.line(("part", 0, "opening", 1, "nothing")) == 20


@given(st.dictionaries(st.text(max_size=4), VALUES, max_size=4))
@settings(max_examples=60)
def test_any_keys_are_found(values: dict[str, Any]) -> None:
    check("".join(f"{written(key)} = {written(each)}\n" for key, each in values.items()))


@pytest.mark.parametrize("path", FIGURES, ids=lambda path: path.stem)
def test_samples(path: Path) -> None:
    text = path.read_text("utf-8")
    check(text)
    assert set(named_files(text)) <= {each.name for each in path.parent.glob("*.png")}


def test_fins_name_their_pictures() -> None:
    text = "[[part]]\nfaces.sides = 'wall.png'\n[[fin]]\npicture = 'ear.png'\n"
    assert named_files(text) == {"ear.png": 4, "wall.png": 2}


GOOD = """[figure]
palette = "quay-24"

[[part]]
name = "box"
size = [12, 10, 14]
colour = "prt"
"""


@pytest.mark.parametrize(
    ("text", "line"),
    [
        (GOOD + "\nfaces.front = 'no.png'\n", 9),
        (GOOD + "hight = 4\n", 8),
        (GOOD.replace("prt", "portred"), 7),
        (GOOD + "[[part.opening]]\nface = 'front'\nbeads = [40, 3]\n", 8),
        (GOOD + "[[part.opening]]\nface = 'front'\n\nat = [0, 1]\nbeads = [4, 3]\n", 11),
        (GOOD + "open = ['top']\n[[part.opening]]\nface = 'top'\nbeads = [1, 1]\n", 9),
        (GOOD + "[[part.shelf]]\nlevel = 2\ncolour = 'prt'\n", 8),
        (GOOD + "[[join]]\nbetween = ['box.top', 'box.bottom']\n", 8),
        (GOOD.replace("colour", "[[part"), 7),
        (GOOD + "x = '''\n\n", 10),
        (GOOD.replace('colour = "prt"', ""), 4),
        (GOOD.replace("quay-24", "key-24"), 2),
        ("[figure]\n", 0),
        ("x = " + "[" * 5000, 0),
        ("x = " + "9" * 5000, 0),
    ],
)
def test_errors_know_their_line(tmp_path: Path, text: str, line: int) -> None:
    (tmp_path / "f.toml").write_text(text, "utf-8")
    with pytest.raises((FigureError, PaletteError)) as caught:
        build(read_figure(tmp_path / "f.toml"))
    assert caught.value.line == line, caught.value
    assert "\n" not in str(caught.value)
    if line and caught.type is FigureError and "is not TOML" not in str(caught.value):
        assert str(caught.value).endswith(f"(at line {line})")


@pytest.mark.parametrize(
    ("before", "after"),
    [
        ("faces.front = 'a.png'  # mine\n", "faces.front = 'b.png'  # mine\n"),
        ("faces = {front = 'a.png', top = 'anc'}\n", "faces = {front = 'b.png', top = 'anc'}\n"),
        ("faces = {top = 'anc'}\n", "faces = { top = 'anc', front = 'b.png' }\n"),
        ("[part.faces]\ntop = 'anc'\n", "[part.faces]\ntop = 'anc'\nfront = 'b.png'\n"),
        ("faces.top = 'anc'\n", "faces.top = 'anc'\nfaces.front = 'b.png'\n"),
        ("", "faces.front = 'b.png'\n"),
        ("[[part.opening]]\nface = 'top'\n",
         "faces.front = 'b.png'\n[[part.opening]]\nface = 'top'\n"),
        ("faces.front = { picture = 'a.png', ground = 'anc' }\n", "faces.front = 'b.png'\n"),
    ],
)  # fmt: skip
def test_an_edit_changes_one_key_alone(before: str, after: str) -> None:
    way = ("part", 0, "faces", "front")
    assert with_value(GOOD + before, way, "'b.png'") == GOOD + after
    second = GOOD + before + GOOD.partition("\n\n")[2]
    assert with_value(second, way, "'b.png'").startswith(GOOD + after)


def test_an_edit_that_would_change_more_is_refused() -> None:
    text = GOOD + "[part.faces.front]\npicture = 'a.png'\n"
    with pytest.raises(FigureError, match=r"write it: front = 'b\.png'"):
        with_value(text, ("part", 0, "faces", "front"), "'b.png'")
    assert with_value(GOOD, ("figure", "thickness"), "3.5").startswith(
        '[figure]\npalette = "quay-24"\nthickness = 3.5\n'
    )
