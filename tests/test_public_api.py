"""The names that `img2plate` promises."""

from __future__ import annotations

import importlib
import inspect
import pkgutil
import re
import subprocess
import sys
from pathlib import Path

import pytest

import img2plate
import img2plate.pipeline

API = Path(__file__).parents[1] / "docs" / "api"
COMMANDS = ("compare", "count", "figure", "fit", "make", "native", "recolour", "scatter", "sheets")


@pytest.mark.parametrize("name", img2plate.__all__)
def test_every_public_name_resolves_and_is_documented(name: str) -> None:
    thing = getattr(img2plate, name)
    if name != "__version__":
        assert thing.__name__ == name
        assert thing.__module__.startswith("img2plate.")
        assert inspect.getdoc(thing)
        text = (API / "img2plate.md").read_text(encoding="utf-8")
        assert f"`{name} <{thing.__module__}.{name}>`" in text


def test_an_unknown_name_is_an_attribute_error() -> None:
    with pytest.raises(AttributeError, match="no attribute 'plates'"):
        _ = img2plate.plates


def test_importing_the_package_imports_no_heavy_library() -> None:
    heavy = {"numpy", "PIL", "click", "numba"}
    code = f"import sys, img2plate; print(sorted({heavy} & set(sys.modules)))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


@pytest.mark.parametrize("name", COMMANDS)
def test_each_command_is_a_module_with_run(name: str) -> None:
    module = importlib.import_module(f"img2plate.pipeline.{name}")
    assert callable(module.run)
    assert inspect.getdoc(module.run)


def test_make_is_imported_as_the_readme_does() -> None:
    from img2plate.pipeline import make

    assert make.MakeOptions is img2plate.MakeOptions
    assert list(inspect.signature(make.run).parameters)[:2] == ["image", "options"]


def test_every_module_of_the_pipeline_is_in_the_reference() -> None:
    text = (API / "pipeline.md").read_text(encoding="utf-8")
    listed = set(re.findall(r"automodule:: img2plate\.pipeline\.(\w+)", text))
    assert listed == {module.name for module in pkgutil.iter_modules(img2plate.pipeline.__path__)}
