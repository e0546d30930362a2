"""What a whole plate costs: the same sums as in the compiled loops, worked out apart from them."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from img2plate.base.specks import speck_share
from img2plate.plate.search.field import Scene, State
from img2plate.plate.search.pairs import Plan

_DIAGONAL = 0.7


def total_cost(scene: Scene, state: State, plan: Plan) -> float:
    """Differences of all cells in all views, what neighbours cost, and specks; dE over cells."""
    each = sum(
        (_differences(scene, state, v) * scene.weight[scene.first[v] : scene.first[v + 1]]).sum(-1)
        for v in range(len(scene.is_flip))
    )
    filled = state.cells >= 0
    specks = speck_share(state.cells) * filled.sum()
    near = float((each * scene.importance).sum())
    paid = float(state.price[state.cells[filled]].sum())
    return near + paid + _pairs(scene, state, plan) + float(plan.speck * specks)


def _differences(scene: Scene, state: State, view: int) -> NDArray[np.float64]:
    """(h, w, n) of a view's samples, FLIP's without its scale."""
    part = slice(scene.first[view], scene.first[view + 1])
    seen = state.seen[..., part].astype(np.float64)
    ring, margin = view - (len(scene.is_flip) - len(scene.reach)), scene.ring.shape[3] // 2
    if ring >= 0:
        height, width = state.cells.shape
        far = state.far[ring, :, margin : margin + height, margin : margin + width]
        seen = seen + far.transpose(1, 2, 0)[..., None]
    ratio = np.einsum("ij,hwjn->hwin", scene.to_xyz[view].reshape(3, 3).astype(np.float64), seen)
    straight = (29 / 6) ** 2 / 3 * ratio + 4 / 29
    f = np.where(ratio > (6 / 29) ** 3, np.cbrt(ratio), straight)
    wanted = scene.wanted[..., part]
    if not scene.is_flip[view]:
        x, y, z = (f - wanted).transpose(2, 0, 1, 3)
        return np.asarray(np.sqrt((116 * y) ** 2 + (500 * (x - y)) ** 2 + (200 * (y - z)) ** 2))
    x, y, z = f.transpose(2, 0, 1, 3)
    scale = np.maximum(1.16 * y - 0.16, 0.6)
    red, yellow = scale * 500 * (x - y) - wanted[:, :, 1], scale * 200 * (y - z) - wanted[:, :, 2]
    return np.asarray((np.abs(116 * y - 16 - wanted[:, :, 0]) + np.hypot(red, yellow)) ** 0.6875)


def _pairs(scene: Scene, state: State, plan: Plan) -> float:
    """What all pairs of neighbours cost."""
    height, width = state.cells.shape
    total = 0.0
    for down, right, weight in ((0, 1, 1.0), (1, 0, 1.0), (1, 1, _DIAGONAL), (1, -1, _DIAGONAL)):
        one = np.s_[: height - down, max(0, -right) : width - max(0, right)]
        two = np.s_[down:, max(0, right) : width - max(0, -right)]
        excess = _excess(scene, state, plan.chroma, one, two)
        smooth = (scene.smooth[one] + scene.smooth[two]) / 2
        each = smooth * (plan.plain * excess + plan.squared * excess**2)
        total += weight * float(each.sum())
    return total + float(plan.change) * _changes(state)


def _changes(state: State) -> int:
    """Neighbours along rows whose colours differ."""
    left, right = state.cells[:, :-1], state.cells[:, 1:]
    return int(np.count_nonzero((left >= 0) & (right >= 0) & (left != right)))


def _excess(
    scene: Scene, state: State, chroma: float, one: tuple[slice, slice], two: tuple[slice, slice]
) -> NDArray[np.float64]:
    """How much more each pair of beads differs than the picture does there, at least 0."""
    both = (state.cells[one] >= 0) & (state.cells[two] >= 0)
    beads = scene.bead_lab[state.cells[one]] - scene.bead_lab[state.cells[two]]
    wanted = scene.lab[one] - scene.lab[two]
    differs, allowed = (
        np.abs(d[..., 0]) + chroma * np.hypot(d[..., 1], d[..., 2]) for d in (beads, wanted)
    )
    same_way = beads[..., 0] * wanted[..., 0] >= 0
    excess = np.maximum(differs - np.where(same_way, allowed, 0), 0)
    return np.where(both & (state.cells[one] != state.cells[two]), excess, 0).astype(np.float64)
