"""Rare colours of a plate that was made go into those that stay: fewer bags to open."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from img2plate.base.arrays import Cells
from img2plate.colour.difference import delta_E_CIE2000
from img2plate.plate.plate import Plate


@dataclass(frozen=True, eq=False)
class Merged:
    """A plate without its rare colours."""

    plate: Plate
    changed: dict[int, int]
    """Palette index of each rare colour, the rarest first, and of what its beads became."""


def merge_rare(plate: Plate, fewer_than: int) -> Merged:
    """Let each colour with fewer beads than that become the nearest (CIEDE2000) that stays.

    The most used colour always stays.
    """
    counts = plate.counts()
    stays = counts >= fewer_than
    if counts.any():
        stays[counts.argmax()] = True
    rare = np.flatnonzero(~stays & (counts > 0))
    if not rare.size:
        return Merged(plate, {})
    rare, kept = rare[np.argsort(counts[rare], kind="stable")], np.flatnonzero(stays & (counts > 0))
    lab = np.asarray(plate.palette.lab, np.float64)
    nearest = kept[delta_E_CIE2000(lab[rare][:, None], lab[kept][None]).argmin(axis=1)]
    changed = dict(zip(rare.tolist(), nearest.tolist(), strict=True))
    return Merged(replace(plate, cells=exchanged(plate, changed)), changed)


def exchanged(plate: Plate, changed: Mapping[int, int]) -> Cells:
    """(h, w) int16: the cells with some colours, palette indices, for others."""
    table = np.arange(len(plate.palette) + 1, dtype=np.int16)
    table[-1] = -1  # reached by an empty cell
    table[list(changed)] = list(changed.values())
    return np.asarray(table[plate.cells])
