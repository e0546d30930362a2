"""The plate under search: its arrays are exact between sweeps, and kept up within one."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from img2plate.base.arrays import Cells, Mask
from img2plate.colour.look_error import OPPONENT2XYZ, RGB2OPPONENT, View, seen_opponent
from img2plate.colour.palette import Palette
from img2plate.colour.spaces import WHITE_XYZ
from img2plate.image.grid import Grid
from img2plate.plate.search.field import Scene, State
from img2plate.plate.search.filters import SAMPLES, SIDE, cell_filters, far_layer
from img2plate.plate.search.judge import Rules
from img2plate.plate.search.loops import regret, sweep
from img2plate.plate.search.spread import refresh_gradients, refresh_near

_PAIRS = ((0, 0), (1, 1), (2, 2), (0, 1), (0, 2), (1, 2))
_LEAST_BLOCK = 16
_FORBIDDEN = 1000.0
"""dE a bead; much more would drown all else in single precision."""
_SETTLED = 0.02
"""When so few cells changed in a cold sweep, what is kept up is as good as worked out anew."""


class Engine:
    """A plate under search."""

    def __init__(
        self, picture: Grid, start: Cells, palette: Palette, view: View, free: Mask | None
    ) -> None:
        self._filters = cell_filters(view)
        self._white = RGB2OPPONENT.sum(axis=1).astype(np.float32)
        filled = start >= 0
        self._scene = Scene(
            wanted=_wanted(picture, filled, view),
            filled=filled,
            free=filled if free is None else filled & free,
            beads=np.ascontiguousarray((RGB2OPPONENT @ palette.linear.T).astype(np.float32)),
            to_xyz=(OPPONENT2XYZ / WHITE_XYZ[:, None]).astype(np.float32).ravel(),
            near=self._filters.near,
            ring=self._filters.ring,
            rows=_mirrored(start.shape[0], self._filters.reach),
            columns=_mirrored(start.shape[1], self._filters.reach),
        )
        self._state = _blank_state(start, len(palette), self._filters.reach)
        self._stale = True

    @property
    def cells(self) -> Cells:
        """(h, w) int16, the plate so far: a view, not a copy."""
        return self._state.cells

    def wake(self) -> None:
        """Have every cell visited again."""
        self._state.active[:] = True

    def sweep(self, rules: Rules) -> int:
        """Visit the active cells once; returns how many changed."""
        if rules.temperature > 0:
            self.wake()
        if self._stale:
            self._refresh()
        block = max(_LEAST_BLOCK, 2 * self._filters.reach)
        changes = int(sweep(self._scene, self._state, block, rules))
        self._stale = rules.temperature > 0 or changes > _SETTLED * self.cells.size
        return changes

    def regret(self, rules: Rules) -> NDArray[np.float64]:
        """(n,) dE over cells that the plate would lose if it had to do without each colour.

        A colour in a cell that may not change has an infinite regret.
        """
        self._refresh()
        sums = regret(self._scene, self._state, rules)
        fixed = self._scene.filled & ~self._scene.free
        sums[self.cells[fixed]] = np.inf
        return sums

    def forbid(self, colours: NDArray[np.int64]) -> None:
        """Price colours so high that no bead of them stays where it may change."""
        self._state.price[colours] = _FORBIDDEN
        self._state.active[np.isin(self.cells, colours)] = True

    def _refresh(self) -> None:
        """Work out everything from the beads, without what rounding and the model left."""
        import cv2

        height, width = self.cells.shape
        margin = self._filters.reach
        inside = (slice(None), slice(margin, margin + height), slice(margin, margin + width))
        beads, white = self._scene.beads[:, self.cells], self._white[:, None, None]
        planes = np.where(self._scene.filled, beads, white)
        refresh_near(self._scene, self._state, planes)
        self._state.far[inside] = far_layer(planes, self._filters)
        refresh_gradients(self._scene, self._state)
        for c, (i, j) in enumerate(_PAIRS):
            both = self._filters.ring[i] * self._filters.ring[j]
            hessian = self._state.hessian[c]
            self._state.ring_hessian[c] = cv2.filter2D(
                hessian, -1, both, borderType=cv2.BORDER_REFLECT
            )


def _wanted(picture: Grid, filled: Mask, view: View) -> NDArray[np.float32]:
    """(h, w, 3, 9) f(X), f(Y), f(Z) of the picture as the eye resolves it."""
    per_cell = picture.per_cell
    shown = np.repeat(np.repeat(filled, per_cell, axis=0), per_cell, axis=1)[..., None]
    opponent = seen_opponent(np.where(shown, picture.rgb, np.float32(1)), view, per_cell)
    height, width = filled.shape
    each = per_cell // SIDE
    sampled = opponent.reshape(height, SIDE, each, width, SIDE, each, 3).mean(axis=(2, 5))
    ratio = sampled @ (OPPONENT2XYZ / WHITE_XYZ[:, None]).T.astype(np.float32)
    straight = np.float32((29 / 6) ** 2 / 3) * ratio + np.float32(4 / 29)
    f = np.where(ratio > (6 / 29) ** 3, np.cbrt(ratio), straight)
    ordered = f.transpose(0, 2, 4, 1, 3).reshape(height, width, 3, SAMPLES)
    return np.ascontiguousarray(ordered, dtype=np.float32)


def _mirrored(count: int, margin: int) -> NDArray[np.int64]:
    """Own index of each row of a plane with margins, mirrored as often as needed."""
    round_trip = np.concatenate([np.arange(count), np.arange(count)[::-1]])
    return np.asarray(round_trip[np.arange(-margin, count + margin) % (2 * count)], np.int64)


def _blank_state(start: Cells, colours: int, margin: int) -> State:
    """A state that is still to be worked out."""
    height, width = start.shape
    wide = (3, height + 2 * margin, width + 2 * margin)
    return State(
        cells=np.array(start, dtype=np.int16),
        active=np.ones((height, width), np.bool_),
        price=np.zeros(colours, np.float32),
        seen=np.zeros((height, width, 3, SAMPLES), np.float32),
        far=np.zeros(wide, np.float32),
        gradient=np.zeros(wide, np.float32),
        hessian=np.zeros((6, height, width), np.float32),
        ring_hessian=np.zeros((6, height, width), np.float32),
    )
