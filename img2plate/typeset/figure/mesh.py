"""The figure as a mesh in glTF 2.0, binary form (Khronos; ISO/IEC 12113:2022), for any viewer.

A node for each plate, named as on the sheets, so that a viewer can hide or move it; a material for
each colour of bead. Beads are boxes of the plate's true thickness, only their outer faces are kept.
Lengths are metres and up is +Y, as the standard wants: (x, y, z) here is (x, z, -y) there.
"""

from __future__ import annotations

import json
import struct
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from img2plate import __version__
from img2plate.solid.box.build import Figure
from img2plate.solid.piece import Piece

_FLOAT, _UINT = 5126, 5125
"""Component types of glTF 2.0, 3.6.2.2."""
_ARRAY, _ELEMENTS = 34962, 34963
_MAGIC, _JSON, _BIN = 0x46546C67, 0x4E4F534A, 0x004E4942
_TURN = np.array([[1.0, 0.0, 0.0], [0.0, 0.0, 1.0], [0.0, -1.0, 0.0]])
_WAYS = tuple((axis, step) for axis in range(3) for step in (1, -1))


def write_mesh(path: Path, figure: Figure) -> None:
    """Write the figure as a `.glb` file."""
    used = [int(index) for index in np.flatnonzero(figure.counts())]
    document = _Document()
    materials = {index: number for number, index in enumerate(used)}
    for piece in figure.pieces:
        document.add(figure, piece, materials)
    palette = figure.spec.palette
    facts = document.facts | {
        "asset": _asset(figure),
        "scene": 0,
        "scenes": [{"name": figure.spec.name, "nodes": list(range(len(figure.pieces)))}],
        "materials": [_material(palette.beads[i].name, palette.linear[i].tolist()) for i in used],
    }
    path.write_bytes(_pack(facts, bytes(document.data)))


def _asset(figure: Figure) -> dict[str, str]:
    """What wrote the file, and whose work it shows (glTF 2.0, 5.7)."""
    facts = {"version": "2.0", "generator": f"img2plate {__version__}"}
    signature = figure.spec.credit.signature
    return facts | ({"copyright": signature} if signature else {})


class _Document:
    """Buffer, views, accessors, meshes and nodes as they grow."""

    def __init__(self) -> None:
        self.data = bytearray()
        self.facts: dict[str, list[Any]] = {
            "bufferViews": [], "accessors": [], "meshes": [], "nodes": [],
        }  # fmt: skip

    def add(self, figure: Figure, piece: Piece, materials: dict[int, int]) -> None:
        """Add a plate: one primitive for each of its colours, sharing the corners."""
        corners, normals, colours = _quads(figure, piece)
        attributes = {
            "POSITION": self._accessor(corners.reshape(-1, 3), bounds=True),
            "NORMAL": self._accessor(np.repeat(normals, 4, axis=0)),
        }
        first = np.arange(len(colours), dtype=np.uint32) * 4
        triangles = first[:, None] + np.array([0, 1, 2, 0, 2, 3], dtype=np.uint32)
        primitives = [
            {
                "attributes": attributes,
                "indices": self._accessor(triangles[colours == index].ravel()),
                "material": materials[int(index)],
            }
            for index in np.unique(colours)
        ]
        self.facts["nodes"].append({"name": piece.title, "mesh": len(self.facts["meshes"])})
        self.facts["meshes"].append({"name": piece.title, "primitives": primitives})

    def _accessor(self, values: NDArray[Any], *, bounds: bool = False) -> int:
        """Append an array of float32 (n, 3) or uint32 (n,) and describe it."""
        is_index = values.dtype == np.uint32
        kept = values if is_index else values.astype("<f4")
        raw = kept.tobytes()
        self.facts["bufferViews"].append({
            "buffer": 0, "byteOffset": len(self.data), "byteLength": len(raw),
            "target": _ELEMENTS if is_index else _ARRAY,
        })  # fmt: skip
        self.data += raw  # every array is whole 4-byte words, so all offsets stay aligned
        accessor: dict[str, Any] = {
            "bufferView": len(self.facts["bufferViews"]) - 1,
            "componentType": _UINT if is_index else _FLOAT,
            "count": len(values),
            "type": "SCALAR" if is_index else "VEC3",
        }
        if bounds:
            accessor |= {"min": kept.min(axis=0).tolist(), "max": kept.max(axis=0).tolist()}
        self.facts["accessors"].append(accessor)
        return len(self.facts["accessors"]) - 1


def _quads(
    figure: Figure, piece: Piece
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.int16]]:
    """Corners (n, 4, 3) in metres, normals (n, 3), palette indices (n,) of the outer faces."""
    voxels, colours = piece.voxels, piece.plate.cells[piece.plate.filled]
    pitch = figure.spec.model.pitch_mm / 1000
    share = piece.thickness_mm / 1000 / pitch
    low, high = np.zeros(3), np.ones(3)
    low[piece.axis], high[piece.axis] = (1 - share) / 2, (1 + share) / 2
    taken = _taken(voxels)
    corners, normals, indices = [], [], []
    for axis, step in _WAYS:
        open_ = _is_open(taken, voxels, axis, step, piece.axis)
        places = voxels[open_][:, None, :] + _face(axis, step, low, high)
        corners.append(piece.in_figure(places) * pitch)
        normal = np.zeros(3)
        normal[axis] = step
        normal = piece.turn.vectors(normal) if piece.turn else normal
        normals.append(np.broadcast_to(normal, (int(open_.sum()), 3)))
        indices.append(colours[open_])
    return (
        np.concatenate(corners) @ _TURN.T,
        np.concatenate(normals) @ _TURN.T,
        np.concatenate(indices),
    )


def _taken(voxels: NDArray[np.int64]) -> NDArray[np.bool_]:
    """Occupied places in the plate's box, with a free layer all round."""
    taken = np.zeros(np.ptp(voxels, axis=0) + 3, dtype=bool)
    taken[tuple((voxels - voxels.min(axis=0) + 1).T)] = True
    return taken


def _is_open(
    taken: NDArray[np.bool_], voxels: NDArray[np.int64], axis: int, step: int, normal: int
) -> NDArray[np.bool_]:
    """(n,) beads with no bead of the plate beside them on that side."""
    if axis == normal:
        return np.ones(len(voxels), dtype=bool)
    beside = voxels - voxels.min(axis=0) + 1
    beside[:, axis] += step
    return ~np.asarray(taken[tuple(beside.T)])


def _face(
    axis: int, step: int, low: NDArray[np.float64], high: NDArray[np.float64]
) -> NDArray[np.float64]:
    """(4, 3) corners of one side of a bead's box, anticlockwise as seen from outside."""
    one, two = (axis + 1) % 3, (axis + 2) % 3
    corners = np.empty((4, 3))
    corners[:, axis] = (high if step > 0 else low)[axis]
    order = [(0, 0), (1, 0), (1, 1), (0, 1)] if step > 0 else [(0, 0), (0, 1), (1, 1), (1, 0)]
    for corner, (far_one, far_two) in zip(corners, order, strict=True):
        corner[one] = (high if far_one else low)[one]
        corner[two] = (high if far_two else low)[two]
    return corners


def _material(name: str, linear: list[float]) -> dict[str, Any]:
    """A colour; glTF's base colour is linear light. Plastic: no metal, rather rough."""
    return {
        "name": name,
        "pbrMetallicRoughness": {
            "baseColorFactor": [*(round(c, 6) for c in linear), 1.0],
            "metallicFactor": 0.0,
            "roughnessFactor": 0.7,
        },
    }


def _pack(facts: dict[str, Any], data: bytes) -> bytes:
    """Put JSON and buffer into the binary container (glTF 2.0, 4.4)."""
    facts["buffers"] = [{"byteLength": len(data)}]
    text = json.dumps(facts, separators=(",", ":")).encode()
    text += b" " * (-len(text) % 4)
    data += b"\0" * (-len(data) % 4)
    total = 12 + 8 + len(text) + 8 + len(data)
    return b"".join((
        struct.pack("<III", _MAGIC, 2, total),
        struct.pack("<II", len(text), _JSON), text,
        struct.pack("<II", len(data), _BIN), data,
    ))  # fmt: skip
