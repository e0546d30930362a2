"""The plate under search: its arrays are exact between sweeps, and kept up within one."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from img2plate.base.arrays import Cells, Mask
from img2plate.colour.palette import Palette
from img2plate.image.grid import Grid
from img2plate.plate.search.candidates import FURTHEST, MOST, nearest_beads
from img2plate.plate.search.faces import face_weight
from img2plate.plate.search.field import Scene, State
from img2plate.plate.search.filters import CellFilters, cell_filters, far_layer, space_of
from img2plate.plate.search.flat import settle_flat
from img2plate.plate.search.loops import sweep
from img2plate.plate.search.pairs import Plan
from img2plate.plate.search.spread import refresh_gradients, refresh_near
from img2plate.plate.search.target import cell_lab, importance, texture_of, wanted
from img2plate.plate.search.total import total_cost
from img2plate.plate.shade.looks import FLIP, Aim, Sight

_PAIRS = ((0, 0), (1, 1), (2, 2), (0, 1), (0, 2), (1, 2))
_LEAST_BLOCK = 16
_FORBIDDEN = 1000.0
"""dE a bead; much more would drown all else in single precision."""
_SETTLED = 0.02
"""When so few cells changed in a sweep, what is kept up is as good as worked out anew."""
_NO_LOSSES = np.empty((0, 0))
FLIP_UNIT = 95 / (0.4 * 41.27)
"""FLIP's scale: 95 at 0.4 of its largest difference (green to blue, to the power of 0.7)."""


class Engine:
    """A plate under search; flat areas are settled before, unless their colours are in question."""

    def __init__(
        self, picture: Grid, start: Cells, palette: Palette, aim: Aim, free: Mask | None,
        *, settle: bool = True,
    ) -> None:  # fmt: skip
        self._aim = aim
        self._filled = start >= 0
        lab = cell_lab(picture, start.shape)
        free = self._filled if free is None else self._filled & free
        if settle:
            start, free = settle_flat(start, lab, palette, free)
        # Those with a ring are to be the last.
        sights = sorted((s for s in aim.sights if s.weight > 0), key=lambda s: s.has_ring)
        self._spaces = [space_of(sight.meter) for sight in sights]
        self._filters = [cell_filters(sight, palette.pitch_mm) for sight in sights]
        self.scene = _scene(picture, lab, palette, aim, sights, self._filters, self._filled, free)
        self.state = _blank_state(start, self.scene)
        self._stale = True

    @property
    def cells(self) -> Cells:
        """(h, w) int16, the plate so far: a view, not a copy."""
        return self.state.cells

    def restart(self, cells: Cells) -> None:
        """Go on from another plate of the same cells, all of them to be visited."""
        self.state.cells[:] = cells
        self.state.active[:] = True
        self._stale = True

    def sweep(self, speck_price: float, number: int) -> int:
        """Visit the active cells once; returns how many changed. `number` makes their order."""
        if self._stale:
            self.refresh()
        changes = int(sweep(self.scene, self.state, self._plan(speck_price, number), _NO_LOSSES))
        self._stale = changes > _SETTLED * self.cells.size
        return changes

    def regret(self, speck_price: float) -> NDArray[np.float64]:
        """(n,) dE over cells that the plate would lose if it had to do without each colour.

        A colour in a cell that may not change has an infinite regret.
        """
        self.refresh()
        plan, active = self._plan(speck_price, 0), self.state.active.copy()
        self.state.active[:] = True
        blocks = int(np.prod([-(-side // plan.block) for side in self.cells.shape]))
        losses = np.zeros((blocks, len(self.state.price)))
        sweep(self.scene, self.state, plan, losses)
        self.state.active[:] = active
        sums: NDArray[np.float64] = losses.sum(axis=0)
        sums[self.cells[self._filled & ~self.scene.free]] = np.inf
        return sums

    def cost(self) -> float:
        """What the plate costs by its aim, in dE over cells."""
        self.refresh()
        return total_cost(self.scene, self.state, self._plan(self._aim.speck_price, 0))

    def _plan(self, speck_price: float, number: int) -> Plan:
        """How a sweep goes, with prices in single precision."""
        pairs = self._aim.pairs
        block = max(_LEAST_BLOCK, 2 * (self.scene.ring.shape[3] // 2))
        return Plan(
            plain=np.float32(pairs.plain),
            squared=np.float32(pairs.squared),
            chroma=np.float32(pairs.chroma),
            change=np.float32(pairs.change),
            speck=np.float32(speck_price),
            block=block,
            number=number,
        )

    def forbid(self, colours: NDArray[np.int64]) -> None:
        """Price colours so high that no bead of them stays where it may change."""
        self.state.price[colours] = _FORBIDDEN
        self.state.active[np.isin(self.cells, colours)] = True

    def refresh(self) -> None:
        """Work out everything from the beads, without what rounding and the model left."""
        import cv2

        height, width = self.cells.shape
        rings, margin = len(self.scene.reach), self.scene.ring.shape[3] // 2
        inside = (slice(None), slice(margin, margin + height), slice(margin, margin + width))
        for v, (space, filters) in enumerate(zip(self._spaces, self._filters, strict=True)):
            white = space.from_rgb.sum(axis=1).astype(np.float32)[:, None, None]
            planes = np.where(self._filled, self.scene.beads[v][:, self.cells], white)
            planes = np.ascontiguousarray(planes)  # else the loop is compiled for each order
            refresh_near(self.scene, self.state, v, planes)
            ring = v - (len(self._filters) - rings)
            if ring >= 0:
                self.state.far[ring][inside] = far_layer(planes, filters)
        refresh_gradients(self.scene, self.state)
        for ring in range(rings):
            shares = self.scene.ring[ring]
            for c, (i, j) in enumerate(_PAIRS):
                self.state.ring_hessian[ring, c] = cv2.filter2D(
                    self.state.hessian[ring, c],
                    -1,
                    shares[i] * shares[j],
                    borderType=cv2.BORDER_REFLECT,
                )


def _scene(
    picture: Grid,
    lab: NDArray[np.float32],
    palette: Palette,
    aim: Aim,
    sights: list[Sight],
    filters: list[CellFilters],
    filled: Mask,
    free: Mask,
) -> Scene:
    """All that stays as it is during the search."""
    spaces = [space_of(sight.meter) for sight in sights]
    bead_lab = np.ascontiguousarray(palette.lab, np.float32)
    margin = max(f.reach for f in filters)
    rings = [f for f in filters if f.reach]
    wide = np.zeros((len(rings), 3, 2 * margin + 1, 2 * margin + 1), np.float32)
    for each, f in zip(wide, rings, strict=True):
        inside = slice(margin - f.reach, margin + f.reach + 1)
        each[:, inside, inside] = f.ring
    texture = texture_of(lab, filled)
    views = [wanted(picture, filled, sight, palette.pitch_mm) for sight in sights]
    return Scene(
        free=free,
        importance=importance(texture, filled, face_weight(picture, filled.shape)),
        smooth=1 + np.float32(aim.pairs.smooth) * (1 - texture),
        candidates=nearest_beads(lab, bead_lab, MOST, FURTHEST),
        lab=lab,
        bead_lab=bead_lab,
        wanted=np.concatenate(views, axis=-1),
        beads=np.stack([s.from_rgb @ palette.linear.T for s in spaces]).astype(np.float32),
        to_xyz=np.stack([s.to_xyz.ravel() for s in spaces]).astype(np.float32),
        is_flip=np.array([sight.meter == FLIP for sight in sights]),
        first=np.cumsum([0, *(sight.side**2 for sight in sights)]),
        weight=np.concatenate([_sample_weights(sight) for sight in sights]),
        near=np.concatenate([f.near.reshape(4, 4, 3, -1) for f in filters], axis=-1),
        ring=wide,
        reach=np.array([f.reach for f in rings], np.int64),
        rows=_mirrored(filled.shape[0], margin),
        columns=_mirrored(filled.shape[1], margin),
    )


def _sample_weights(sight: Sight) -> NDArray[np.float32]:
    """(n,) what each sample of a cell counts."""
    unit = FLIP_UNIT if sight.meter == FLIP else 1.0
    return np.full(sight.side**2, sight.weight * unit / sight.side**2, np.float32)


def _blank_state(start: Cells, scene: Scene) -> State:
    """A state that is still to be worked out."""
    height, width = start.shape
    rings, margin = len(scene.reach), scene.ring.shape[3] // 2
    planes = (rings, 3, height + 2 * margin, width + 2 * margin)
    return State(
        cells=np.array(start, dtype=np.int16),
        active=np.ones((height, width), np.bool_),
        price=np.zeros(scene.beads.shape[2], np.float32),
        seen=np.zeros((height, width, 3, len(scene.weight)), np.float32),
        far=np.zeros(planes, np.float32),
        gradient=np.zeros(planes, np.float32),
        hessian=np.zeros((rings, 6, height, width), np.float32),
        ring_hessian=np.zeros((rings, 6, height, width), np.float32),
    )


def _mirrored(count: int, margin: int) -> NDArray[np.int64]:
    """Own index of each row of a plane with margins, mirrored as often as needed."""
    round_trip = np.concatenate([np.arange(count), np.arange(count)[::-1]])
    return np.asarray(round_trip[np.arange(-margin, count + margin) % (2 * count)], np.int64)
