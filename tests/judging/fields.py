"""Exact distances to a drawn edge on a fine grid, and which pixels the drawing covers.

The edge is sampled every hundredth of a millimetre straight from its Bézier segments; distances come from a
search tree over the samples, so they are exact to a tenth of a micrometre at the distances that matter.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import cv2
import numpy as np
from scipy.spatial import cKDTree

from artwork.outline import Outline

SAMPLE = 0.01
"""Spacing of samples along the edge, mm: at 0.5 mm off a distance is overrated by 25 nm."""
COARSE = 1.3
"""Pixels by which the coarse distance between pixel centres may be off the true one."""


@dataclass(frozen=True, eq=False)
class Grid:
    """Pixel centres: ``origin + px · (column, row)``, shape (rows, columns), y upwards."""

    origin: np.ndarray
    px: float
    shape: tuple[int, int]

    def places(self, index: tuple[np.ndarray, np.ndarray]) -> np.ndarray:
        """Centres of pixels given as (rows, columns), shape (n, 2), mm."""
        return self.origin + self.px * np.stack([index[1], index[0]], axis=1)


def edge_of(outline: Outline, spacing: float = SAMPLE) -> list[np.ndarray]:
    """Points along every contour, no farther apart than ``spacing``, from the Bézier form itself."""
    return [np.concatenate([_sampled(four, spacing) for four in c.beziers]) for c in outline.contours]


def _sampled(four: np.ndarray, spacing: float) -> np.ndarray:
    a, b, c, d = four
    if np.isnan(b[0]):
        steps = max(int(np.ceil(np.hypot(*(d - a)) / spacing)), 1)
        t = (np.arange(steps) / steps)[:, None]
        return a + t * (d - a)
    length = np.hypot(*(b - a)) + np.hypot(*(c - b)) + np.hypot(*(d - c))
    t = (np.arange(steps := max(int(np.ceil(1.5 * length / spacing)), 4)) / steps)[:, None]
    s = 1 - t
    return s**3 * a + 3 * s * s * t * b + 3 * s * t * t * c + t**3 * d


def grid_around(edges: list[np.ndarray], room: float, px: float) -> Grid:
    """A grid over the edges and ``room`` mm around them."""
    every = np.concatenate(edges)
    low, high = every.min(axis=0) - room, every.max(axis=0) + room
    columns, rows = np.ceil((high - low) / px).astype(int) + 1
    return Grid(low, px, (int(rows), int(columns)))


def covered(edges: list[np.ndarray], grid: Grid) -> np.ndarray:
    """Which pixel centres an odd number of edges lies to the left of."""
    crossings = np.zeros((grid.shape[0], grid.shape[1] + 1), np.int32)
    for ring in edges:
        at = (ring - grid.origin) / grid.px
        x, y = at[:, 0], at[:, 1]
        x1, y1 = np.roll(x, -1), np.roll(y, -1)
        low, high = np.ceil(np.minimum(y, y1)).astype(int), np.ceil(np.maximum(y, y1)).astype(int)
        which = np.flatnonzero(high > low)
        times = (high - low)[which]
        which = np.repeat(which, times)
        row = low[which] + np.arange(len(which)) - np.repeat(np.cumsum(times) - times, times)
        across = x[which] + (row - y[which]) / (y1 - y)[which] * (x1 - x)[which]
        column = np.clip(np.ceil(across).astype(int), 0, grid.shape[1])
        inside = (row >= 0) & (row < grid.shape[0])
        np.add.at(crossings, (row[inside], column[inside]), 1)
    return (np.cumsum(crossings, axis=1)[:, :-1] % 2).astype(bool)


@dataclass(frozen=True, eq=False)
class Measure:
    """A way to measure how far a place is from the edge: the least gauge of the way to it.

    Attributes:
        tree: over the edge's samples in the measure's own frame.
        frame: shape (2, 2), takes mm into that frame.
        gauge: lengths of ways, shape (n, 2) in mm, as this measure has them.
    """

    tree: cKDTree
    samples: np.ndarray
    frame: np.ndarray
    gauge: Callable[[np.ndarray], np.ndarray]

    def __call__(self, places: np.ndarray) -> np.ndarray:
        _, nearest = self.tree.query(places @ self.frame.T)
        return self.gauge(self.samples[nearest] - places)


def round_measure(edges: list[np.ndarray]) -> Measure:
    """Plain distance in mm."""
    samples = np.concatenate(edges)
    return Measure(cKDTree(samples), samples, np.eye(2), lambda way: np.hypot(way[:, 0], way[:, 1]))


def grained_measure(edges: list[np.ndarray], along: float, across: float, grain: float) -> Measure:
    """How often a body of wood fits between a place and the edge.

    The body is ``along`` wide square to a land that runs with the grain, ``across`` square to one that runs
    across it, and between the two ``along + (across − along)·sin²``: its half width in the direction θ from
    the grain is ``A + B·cos 2θ``. It touches parallel walls exactly where they stand that far apart.
    """
    samples = np.concatenate(edges)
    even, swing = (along + across) / 4, (across - along) / 4
    cos, sin = np.cos(grain), np.sin(grain)
    turn = np.array([[cos, sin], [-sin, cos]])
    normals = np.linspace(0, 2 * np.pi, 1441)
    half = even + swing * np.cos(2 * normals)
    table = np.array([np.max(np.cos(normals - way) / half) for way in normals])

    def gauge(way: np.ndarray) -> np.ndarray:
        turned = way @ turn.T
        heading = np.arctan2(turned[:, 1], turned[:, 0]) % (2 * np.pi)
        return np.hypot(way[:, 0], way[:, 1]) * np.interp(heading, normals, table)

    frame = np.diag([1 / (even + swing), 1 / (even - swing)]) @ turn
    return Measure(cKDTree(samples @ frame.T), samples, frame, gauge)


def measured(
    region: np.ndarray, grid: Grid, measure: Measure, unit: float, low: float, high: float
) -> np.ndarray:
    """The measure at every pixel of a region, exact between ``low`` and ``high`` and on the right side beyond.

    Args:
        region: of the grid.
        measure: exact.
        unit: the least of the measure per mm (1 for the plain distance).
        low, high: in the measure's own unit.
    """
    field = cv2.distanceTransform(region.astype(np.uint8), cv2.DIST_L2, cv2.DIST_MASK_PRECISE)
    most, least = (field + COARSE) * grid.px, np.maximum(field - COARSE, 0) * grid.px
    widest = float(
        measure.gauge(np.array([[np.cos(a), np.sin(a)] for a in np.linspace(0, np.pi, 180)])).max()
    )
    found = np.where(least * unit > high, least * unit, 0.0)
    near = np.nonzero(region & (most * widest >= low) & (least * unit <= high))
    found[near] = measure(grid.places(near))
    return found
