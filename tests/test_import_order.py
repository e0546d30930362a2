"""A room imports only rooms above it, and each outside library stays in its room."""

from __future__ import annotations

import ast
import graphlib
import subprocess
import sys
from functools import cache
from pathlib import Path
from typing import NamedTuple

import pytest

PACKAGE = Path(__file__).parents[1] / "img2plate"
ORDER = ["base", "colour", "image", "inventory", "measure", "plate", "solid", "split", "tally"]
ORDER += ["typeset", "pipeline", "ui"]
MODULES = sorted(PACKAGE.rglob("*.py"))
ONLY_IN = {
    "click": {"ui"},
    "starlette": {"ui"},
    "pypdfium2": {"ui"},
    "uvicorn": {"ui"},
    "segno": {"ui"},
    "reportlab": {"typeset"},
    "numba": {"base"},
}
SLOW = {"cv2", "scipy", "skimage", "numba", "reportlab", "PIL", "starlette", "uvicorn", "pypdfium2"}


def room_of(path: Path) -> str:
    return path.relative_to(PACKAGE).parts[0].removesuffix(".py")


class Import(NamedTuple):
    """An import: the module, what is taken from it, and whether only types ask for it."""

    module: str
    names: tuple[str, ...]
    for_types: bool


@cache
def imports(path: Path) -> tuple[Import, ...]:
    """All imports of a module, also those inside its functions."""
    found: list[Import] = []
    waiting: list[tuple[ast.AST, bool]] = [(ast.parse(path.read_text(encoding="utf-8")), False)]
    while waiting:
        node, for_types = waiting.pop()
        if isinstance(node, ast.Import):
            found += [Import(alias.name, (), for_types) for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            assert not node.level, f"{path}: relative import"
            names = tuple(alias.name for alias in node.names)
            found.append(Import(node.module or "", names, for_types))
        elif not isinstance(node, ast.expr):
            inside = isinstance(node, ast.If) and "TYPE_CHECKING" in ast.dump(node.test)
            waiting += [(child, for_types or inside) for child in ast.iter_child_nodes(node)]
    return tuple(found)


@pytest.mark.parametrize("path", MODULES, ids=lambda path: str(path.relative_to(PACKAGE)))
def test_rooms_import_only_rooms_above(path: Path) -> None:
    room = room_of(path)
    if room in ("__init__", "__main__"):
        return
    for name, *_ in imports(path):
        parts = name.split(".")
        if parts[0] == "img2plate" and len(parts) > 1:
            assert ORDER.index(parts[1]) <= ORDER.index(room), f"{path} imports {name}"
        elif parts[0] in ONLY_IN:
            assert room in ONLY_IN[parts[0]], f"{path} imports {name}"


INNER_ORDER = {
    "plate": ["shade", "limits", "strength", "finish"],
    "solid": ["fit", "check", "box"],
    "pipeline": ["options", "draft", "pack", "sheets", "scatter", "finish"],
}
"""Within a room: later folders or modules may import earlier ones, not the other way."""


def modules_imported(path: Path) -> set[str]:
    """Modules of the package that a module imports anywhere, also inside its functions."""
    found = set()
    for module, names, for_types in imports(path):
        if not for_types:
            found |= {module, *(f"{module}.{name}" for name in names)}
    return found & set(NAMES)


def name_of(path: Path) -> str:
    return ".".join(path.relative_to(PACKAGE.parent).with_suffix("").parts).removesuffix(
        ".__init__"
    )


NAMES = {name_of(path): path for path in MODULES}


def test_no_module_imports_itself_by_any_way_round() -> None:
    imported = {name: modules_imported(path) - {name} for name, path in NAMES.items()}
    order = list(graphlib.TopologicalSorter(imported).static_order())  # CycleError names the cycle
    assert set(order) == set(NAMES)


def test_a_cycle_would_be_found() -> None:
    imported = {name: modules_imported(path) - {name} for name, path in NAMES.items()}
    imported["img2plate.base.errors"] = {"img2plate.ui.cli"}
    with pytest.raises(graphlib.CycleError):
        list(graphlib.TopologicalSorter(imported).static_order())


@pytest.mark.parametrize("room", INNER_ORDER)
def test_inner_order(room: str) -> None:
    order = INNER_ORDER[room]
    for name, path in NAMES.items():
        parts = name.split(".")
        if parts[1:2] != [room] or len(parts) < 3 or parts[2] not in order:
            continue
        for other in modules_imported(path):
            inner = other.split(".")[2:3]
            if other.startswith(f"img2plate.{room}.") and inner[0] in order:
                assert order.index(inner[0]) <= order.index(parts[2]), f"{name} imports {other}"


def test_pictures_are_decoded_only_in_the_image_room() -> None:
    for path in MODULES:
        if room_of(path) != "image":
            text = path.read_text(encoding="utf-8")
            assert "Image.open(" not in text, path
            assert "imread(" not in text, path
            assert "imdecode(" not in text, path


def test_help_imports_no_slow_library() -> None:
    code = (
        "import sys, click.testing; from img2plate.ui.cli import cli;"
        "assert click.testing.CliRunner().invoke(cli, ['make', '--help']).exit_code == 0;"
        "print(' '.join(sorted({name.split('.')[0] for name in sys.modules})))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert not (SLOW | {"numpy"}) & set(done.stdout.split())


def test_importing_the_package_is_free() -> None:
    code = (
        "import sys, img2plate; print(len([m for m in sys.modules if m.startswith('img2plate')]))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "1"


def test_the_map_in_the_docstring_names_every_room() -> None:
    import img2plate

    text = img2plate.__doc__ or ""
    for room in {room_of(path) for path in MODULES} - {"__init__", "__main__"}:
        assert f"\n    {room}" in text, room
