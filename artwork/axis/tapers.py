"""Branches that narrow to a point: found on the axis by walking inwards from its loose ends."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from artwork.axis.anatomy import Tapers
from artwork.curves import Floats

Ints = NDArray[np.int64]

LEAST_SLOPE = np.tan(np.radians(1.0))
"""Gain of clearance per length below which a branch no longer tapers: sides closer than 2° to parallel."""
POINTED = 0.25
"""A taper ends in a point if at most this share of its root's width is left at its tip; tracing rounds."""
STEEP = np.sin(np.radians(25.0))
"""Or if it narrows at 50° and more: nearly a corner, and no more of it is lost than at one."""
WINDOW = 2.0
"""The slope is judged over this many clearances, so that the facets of flattened curves do not count."""
FACETS = 4.0
"""The same in flattening errors, for the finest tips."""


def tapers(ends: Ints, places: Floats, clearance: Floats, error: float) -> tuple[Ints, Tapers]:
    """Which stretches belong to which taper (−1: none), and the tapers.

    Args:
        ends: shape (n, 2), vertex numbers of the stretches.
        places, clearance: their ends and the clearance there.
        error: how far clearances may be off.
    """
    walk = _Walk(ends, places, clearance, error)
    walk.run()
    gain = walk.mark_clearance - walk.tip_clearance
    ends_in_point = walk.tip_clearance <= POINTED * walk.mark_clearance
    pointed = np.flatnonzero((walk.mark_step > 0) & (ends_in_point | (gain >= STEEP * walk.mark_length)))
    number = np.full(len(walk.tip), -1, np.int64)
    number[pointed] = np.arange(len(pointed))
    taper = np.full(len(ends), -1, np.int64)
    for step, (walkers, stretch) in enumerate(walk.taken, start=1):
        belongs = (walk.mark_step[walkers] >= step) & (number[walkers] >= 0)
        taper[stretch[belongs]] = number[walkers[belongs]]
    found = Tapers(
        walk.tip[pointed],
        walk.tip_clearance[pointed],
        walk.mark_clearance[pointed],
        walk.mark_length[pointed],
    )
    return taper, found


class _Walk:
    """All loose ends walk inwards at once, one stretch per step, as long as the clearance grows.

    Each keeps a mark: how far it certainly was a taper. A mark is moved up when the clearance has grown
    enough over the window behind it; a walker whose window did not grow enough stops.
    """

    def __init__(self, ends: Ints, places: Floats, clearance: Floats, error: float) -> None:
        self._ends, self._clearance, self._error = ends, clearance, error
        self._lengths = np.hypot(*(places[:, 1] - places[:, 0]).T)
        vertices = int(ends.max(initial=-1)) + 1
        self._degree = np.bincount(ends.ravel(), minlength=vertices)
        at = np.repeat(np.arange(len(ends)), 2)
        # at a vertex of two stretches, one is their sum less the other
        self._sum = np.bincount(ends.ravel(), at, vertices).astype(np.int64)
        loose = np.flatnonzero((self._degree[ends] == 1).ravel())
        stretch, side = loose // 2, loose % 2
        rising = clearance[stretch, side] < clearance[stretch, 1 - side]
        self._stretch, self._side = stretch[rising], side[rising]
        self.tip = places[self._stretch, self._side]
        self.tip_clearance = clearance[self._stretch, self._side]
        count = len(self.tip)
        self.mark_step = np.zeros(count, np.int64)
        self.mark_length = np.zeros(count)
        self.mark_clearance = self.tip_clearance.copy()
        self.taken: list[tuple[Ints, Ints]] = []

    def run(self) -> None:
        """Walks until all have stopped."""
        walkers = np.arange(len(self.tip))
        stretch, side = self._stretch, self._side
        length = np.zeros(len(walkers))
        while len(walkers):
            near = self._clearance[stretch, side]
            far = self._clearance[stretch, 1 - side]
            grows = far >= near - 2 * self._error
            if not grows.all():
                self._settle(walkers[~grows], length[~grows], near[~grows], len(self.taken))
                walkers, stretch, side = walkers[grows], stretch[grows], side[grows]
                length, far = length[grows], far[grows]
            length = length + self._lengths[stretch]
            self.taken.append((walkers, stretch))
            going = self._marked(walkers, length, far)
            vertex = self._ends[stretch, 1 - side]
            onwards = going & (self._degree[vertex] == 2)
            ended = going & ~onwards
            if ended.any():
                self._settle(walkers[ended], length[ended], far[ended], len(self.taken))
            walkers, length, vertex = walkers[onwards], length[onwards], vertex[onwards]
            stretch = self._sum[vertex] - stretch[onwards]
            side = np.where(self._ends[stretch, 0] == vertex, 0, 1)

    def _window(self, walkers: Ints) -> Floats:
        return np.asarray(WINDOW * np.maximum(self.mark_clearance[walkers], FACETS * self._error))

    def _marked(self, walkers: Ints, length: Floats, clearance: Floats) -> NDArray[np.bool_]:
        """Moves marks up where the window is full and steep enough; False where it was not steep enough."""
        passed = length - self.mark_length[walkers]
        full = passed >= self._window(walkers)
        if not full.any():
            return ~full
        steep = self._steep(walkers, passed, clearance)
        self._move(walkers[full & steep], length[full & steep], clearance[full & steep], len(self.taken))
        return ~full | steep

    def _settle(self, walkers: Ints, length: Floats, clearance: Floats, step: int) -> None:
        """The last, unfilled window of a walker that has come to its end."""
        steep = self._steep(walkers, length - self.mark_length[walkers], clearance)
        self._move(walkers[steep], length[steep], clearance[steep], step)

    def _steep(self, walkers: Ints, passed: Floats, clearance: Floats) -> NDArray[np.bool_]:
        return np.asarray(clearance - self.mark_clearance[walkers] >= LEAST_SLOPE * passed)

    def _move(self, walkers: Ints, length: Floats, clearance: Floats, step: int) -> None:
        self.mark_step[walkers] = step
        self.mark_length[walkers] = length
        self.mark_clearance[walkers] = clearance
