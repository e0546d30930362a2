"""Figures of 60 x 60 x 60 beads and of up to 84 plates: whole process, generator and checker.

    python bench/bench_figure.py

The fastest of three after a warming run, and the processor time of all four on the mean (on a busy
machine the better figure). The peer for the checker is trimesh's split of the same
beads as boxes into connected bodies, when trimesh is there (it is in the test extra).
"""

from __future__ import annotations

import resource
import tempfile
import time
from pathlib import Path

import numpy as np
from bench_make import IMG2PLATE, best

FIGURES = Path(__file__).parents[1] / "sample_inputs" / "figures"
LARGE = """
[figure]
name = "large"
[[part]]
name = "cube"
size = [60, 60, 60]
faces.front = "front.png"
faces.top = "gul"
faces.right = "prt"
"""


def write_large(folder: Path) -> Path:
    """A cube with 60 x 60 pixels in the palette's colours on its front."""
    from PIL import Image

    from img2plate.colour.palette_file import find_palette

    colours = find_palette("harbour-48").srgb
    pixels = colours[np.random.default_rng(0).integers(0, len(colours), (60, 60))]
    Image.fromarray(pixels).save(folder / "front.png")
    (folder / "large.toml").write_text(LARGE, "utf-8")
    return folder / "large.toml"


def time_checker(path: Path) -> None:
    """Generator and checker alone, and the peer."""
    from img2plate.solid.box.build import build
    from img2plate.solid.box.judged import exceptions_of, solids_of
    from img2plate.solid.check.rules import check
    from img2plate.solid.file.figure_file import read_figure

    spec = read_figure(path)
    start = time.perf_counter()
    made = build(spec)
    both = time.perf_counter() - start
    solids = solids_of(made.pieces)
    wanted = [p.voxels for p in made.pieces]
    start = time.perf_counter()
    assert not check(solids, wanted, exceptions_of(made.pieces)).findings
    checking = time.perf_counter() - start
    print(f"generator and checker {both:.2f} s, checker alone {checking:.2f} s")
    try:
        import trimesh
    except ImportError:
        return
    start = time.perf_counter()
    for solid in solids:
        grid = np.zeros(np.ptp(solid.voxels, axis=0) + 1, dtype=bool)
        grid[tuple((solid.voxels - solid.voxels.min(axis=0)).T)] = True
        mesh = trimesh.voxel.VoxelGrid(grid).as_boxes()
        mesh.merge_vertices()
        trimesh.graph.connected_components(mesh.face_adjacency)
    peer = time.perf_counter() - start
    print(
        f"peer, only whether plates hang together: {peer:.2f} s, {peer / checking:.1f} times ours"
    )


def main() -> None:
    """Print all figures."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        large = write_large(folder)
        out = ["--out", f"{folder}/packs"]
        for title, path, wanted in (
            ("figure, 60x60x60", large, 5),
            ("figure, harbour lamp (30 plates)", FIGURES / "harbour-lamp.toml", 5),
            ("figure, trawler box (43 plates)", FIGURES / "trawler-box.toml", 5),
            ("figure, boathouse (11 plates, a roof)", FIGURES / "boathouse.toml", 5),
            ("figure, large bird (84 plates)", Path(__file__).parent / "large-bird.toml", 4),
        ):
            before = resource.getrusage(resource.RUSAGE_CHILDREN)
            seconds, megabytes = best([*IMG2PLATE, "figure", str(path), *out], 3)
            after = resource.getrusage(resource.RUSAGE_CHILDREN)
            cpu = (after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime) / 4
            print(
                f"{title}: {seconds:.2f} s (wanted {wanted}), {cpu:.2f} s of one core,"
                f" peak {megabytes:.0f} MB"
            )
        time_checker(large)


if __name__ == "__main__":
    main()
