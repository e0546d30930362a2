"""A room imports only rooms above it, and each outside library stays in its room."""

from __future__ import annotations

import ast
import subprocess
import sys
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parents[1] / "img2plate"
ORDER = ["base", "colour", "image", "inventory", "measure", "plate", "solid", "split", "tally"]
ORDER += [
    "typeset",
    "options",
    "recovery",
    "draft",
    "pipeline",
    "bead_palette",
    "colourways",
    "fit_answer",
    "figure_pack",
]
ORDER += ["compare", "stock_pack", "ui"]
MODULES = sorted(PACKAGE.rglob("*.py"))
ONLY_IN = {
    "click": {"ui"},
    "starlette": {"ui"},
    "uvicorn": {"ui"},
    "reportlab": {"typeset"},
    "numba": {"base"},
}
SLOW = {"cv2", "scipy", "skimage", "numba", "reportlab", "PIL"}


def room_of(path: Path) -> str:
    return path.relative_to(PACKAGE).parts[0].removesuffix(".py")


def imports(path: Path) -> list[tuple[str, bool]]:
    """Imported module and whether it is imported when the module is (not inside a function)."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    inner = {
        id(node)
        for function in ast.walk(tree)
        if isinstance(function, ast.FunctionDef | ast.AsyncFunctionDef)
        or (isinstance(function, ast.If) and "TYPE_CHECKING" in ast.dump(function.test))
        for node in ast.walk(function)
    }
    found = []
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            found += [(alias.name, id(node) not in inner) for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            assert not node.level, f"{path}: relative import"
            found.append((node.module or "", id(node) not in inner))
    return found


@pytest.mark.parametrize("path", MODULES, ids=lambda path: str(path.relative_to(PACKAGE)))
def test_rooms_import_only_rooms_above(path: Path) -> None:
    room = room_of(path)
    if room in ("__init__", "__main__"):
        return
    for name, _ in imports(path):
        parts = name.split(".")
        if parts[0] == "img2plate" and len(parts) > 1:
            assert ORDER.index(parts[1]) <= ORDER.index(room), f"{path} imports {name}"
        elif parts[0] in ONLY_IN:
            assert room in ONLY_IN[parts[0]], f"{path} imports {name}"


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
