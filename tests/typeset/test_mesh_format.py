"""The mesh of every worked figure, judged by Khronos' validator of glTF where node has it.

    npm install gltf-validator     # in any FOLDER
    NODE_PATH=FOLDER/node_modules pytest tests/typeset/test_mesh_format.py

Without it trimesh reads the file, which is a weaker judge.
"""

from __future__ import annotations

import json
import shutil
import subprocess
from pathlib import Path

import pytest
import trimesh
from support import SAMPLES

from img2plate.solid.box.build import build
from img2plate.solid.file.figure_file import read_figure
from img2plate.typeset.figure.mesh import write_mesh

FIGURES = sorted((SAMPLES / "figures").glob("*.toml"))
SCRIPT = """
let validator;
try { validator = require("gltf-validator"); } catch { process.exit(3); }
const bytes = new Uint8Array(require("fs").readFileSync(process.argv[1]));
validator.validateBytes(bytes, { maxIssues: 5 }).then((r) => console.log(JSON.stringify(r.issues)));
"""


def outside_judge(path: Path) -> dict[str, object] | None:
    """What the validator finds; None where it is not at hand."""
    node = shutil.which("node")
    if node is None:
        return None
    done = subprocess.run(
        [node, "-e", SCRIPT, str(path)], capture_output=True, text=True, timeout=60, check=False
    )
    if done.returncode == 3:
        return None
    assert done.returncode == 0, done.stderr
    found: dict[str, object] = json.loads(done.stdout)
    return found


@pytest.mark.parametrize("path", FIGURES, ids=lambda path: path.stem)
def test_the_mesh_of_a_worked_figure_keeps_to_the_format(path: Path, tmp_path: Path) -> None:
    figure = build(read_figure(path))
    write_mesh(tmp_path / "figure.glb", figure)
    issues = outside_judge(tmp_path / "figure.glb")
    if issues is not None:
        assert issues["numErrors"] == issues["numWarnings"] == 0, issues["messages"]
        (tmp_path / "broken.glb").write_bytes((tmp_path / "figure.glb").read_bytes()[:-4])
        broken = outside_judge(tmp_path / "broken.glb")
        assert broken is not None
        assert broken["numErrors"] != 0
    nodes = trimesh.load_scene(tmp_path / "figure.glb").graph.nodes_geometry
    assert all(any(name.startswith(p.title) for name in nodes) for p in figure.pieces)
