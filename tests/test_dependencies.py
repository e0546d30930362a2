"""Each dependency is used, and stands with its licence and reason in DEVELOPERS.md."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

ROOT = Path(__file__).parents[1]
MODULES = {
    "pillow": "PIL",
    "opencv-python-headless": "cv2",
    "scikit-image": "skimage",
    "markdown-it-py": "markdown_it",
}
"""Where a package's module is called otherwise."""


def wanted() -> list[str]:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
    return [re.split(r"[<>=! ;\[]", line)[0] for line in project["dependencies"]]


def test_each_is_in_the_table_with_licence_and_reason() -> None:
    text = (ROOT / "DEVELOPERS.md").read_text("utf-8").partition("## What it stands on")[2]
    rows = re.findall(r"^\| ([\w-]+) \| ([^|]+) \| ([^|]+) \|$", text.partition("\n## ")[0], re.M)
    table = {name: (licence, why) for name, licence, why in rows if name not in ("package", "---")}
    assert sorted(table) == sorted(wanted())
    assert all(len(licence) > 2 and len(why) > 2 for licence, why in table.values())


def test_each_is_used() -> None:
    code = "\n".join(path.read_text("utf-8") for path in (ROOT / "img2plate").rglob("*.py"))
    for name in wanted():
        module = MODULES.get(name, name.replace("-", "_"))
        assert re.search(rf"^\s*(import|from) {module}\b|files\(\"{module}\"\)", code, re.M), name
