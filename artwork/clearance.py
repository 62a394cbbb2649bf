"""Exact distances from points to the edge of placed art."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import cv2
import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.spatial import cKDTree
from shapely.geometry.base import BaseGeometry

from artwork.curves import Floats, sampled
from artwork.cut import Cut
from artwork.shapes import beside_on_ring, ring_shapes

SPACING = 0.05
"""Distance of the marks along the edge among which the nearest is sought, mm. A distance to the edge is never
too small, and too large by at most half of this, and only right where two edges meet."""
Bools = NDArray[np.bool_]


@dataclass(frozen=True, eq=False)
class Grid:
    """Pixels of a picture whose distance to the edge is wanted.

    Attributes:
        corner: slat mm of the upper left corner of its first pixel.
        pitch: of its pixels, mm.
        shape: its rows and columns.
        rows, columns: shape (n,), which pixels.
        places: shape (n, 2), their centres, slat mm.
    """

    corner: Floats
    pitch: float
    shape: tuple[int, int]
    rows: NDArray[np.int64]
    columns: NDArray[np.int64]
    places: Floats


@dataclass(frozen=True, eq=False)
class Edges:
    """The edge of placed art as chords, slat mm.

    Attributes:
        points: shape (n, 2), their starts.
        ends: shape (n, 2), their ends.
        before, after: shape (n,), numbers of the chords before and after each along its ring.
        ring: shape (n,), the ring each is on.
    """

    points: Floats
    ends: Floats
    before: NDArray[np.int64]
    after: NDArray[np.int64]
    ring: NDArray[np.int64]

    @classmethod
    def of(cls, cut: Cut, tolerance: float) -> Edges:
        """The edge of a cut's art; no chord is farther off its curve than ``tolerance``, mm."""
        found = sampled(cut.placed().contours, tolerance)
        counts = np.diff(found.starts)
        before, after = beside_on_ring(counts)
        points = found.points
        return cls(points, points[after], before, after, np.repeat(np.arange(len(counts)), counts))

    @cached_property
    def region(self) -> BaseGeometry:
        """What an odd number of rings surrounds, prepared for many questions."""
        found = shapely.build_area(shapely.multilinestrings(ring_shapes(self.points, self.ring)))
        shapely.prepare(found)
        return found

    @cached_property
    def _marks(self) -> tuple[cKDTree, NDArray[np.int64]]:
        marks, chord = self._marked(SPACING)
        return cKDTree(marks, leafsize=32, compact_nodes=False), chord

    def _marked(self, spacing: float) -> tuple[Floats, NDArray[np.int64]]:
        """Places along the edge, at most ``spacing`` mm apart, and the chord of each."""
        way = self.ends - self.points
        count = np.maximum(np.ceil(np.hypot(*way.T) / spacing), 1).astype(np.int64)
        chord = np.repeat(np.arange(len(count)), count)
        share = (np.arange(len(chord)) - np.repeat(np.cumsum(count) - count, count)) / count[chord]
        return self.points[chord] + share[:, None] * way[chord], chord

    def nearest(self, places: Floats) -> tuple[Floats, Floats, NDArray[np.int64]]:
        """Of each place, shape (n, 2): its distance to the edge, the place on the edge, and the chord of that."""
        tree, chord = self._marks
        found = chord[tree.query(places)[1]]
        best, foot, share = self._to_chord(places, found)
        # Where the nearest place is a corner, the chord beyond the corner may come nearer still.
        for end, beyond in ((0.0, self.before), (1.0, self.after)):
            there = np.flatnonzero(share == end)
            distance, place, _ = self._to_chord(places[there], beyond[found[there]])
            nearer = distance < best[there]
            best[there[nearer]], foot[there[nearer]] = distance[nearer], place[nearer]
        return best, foot, found

    def quickly(self, grid: Grid) -> Floats:
        """About the distance of each of a grid's places to the edge, shape (n,), in a fraction of the time.

        Never too small; too large by less than half a pixel, and only where two edges are about as near.
        Where the edge leaves the grid, it is worked out exactly.
        """
        # Half a pixel apart, so that hardly a pixel that the edge crosses goes without a mark.
        marks, chord = self._marked(grid.pitch / 2)
        column, row = np.floor((marks - grid.corner) * [1 / grid.pitch, -1 / grid.pitch]).astype(np.int64).T
        within = (row >= 0) & (row < grid.shape[0]) & (column >= 0) & (column < grid.shape[1])
        if not within.all():
            return self.distance(grid.places)
        clear = np.ones(grid.shape, np.uint8)
        clear[row, column] = 0
        _, label = cv2.distanceTransformWithLabels(
            clear, cv2.DIST_L2, cv2.DIST_MASK_5, labelType=cv2.DIST_LABEL_PIXEL
        )
        of_label = np.zeros(int(label.max()) + 1, np.int64)
        of_label[label[row, column]] = chord
        found = of_label[label]
        own = found[grid.rows, grid.columns]
        x, y = (grid.places - self.points[0]).astype(np.float32).T
        best, share = self._quick_distance(x, y, own)
        for end, beyond in ((0.0, self.before), (1.0, self.after)):
            there = np.flatnonzero(share == end)
            nearer = self._quick_distance(x[there], y[there], beyond[own[there]])[0]
            best[there] = np.minimum(best[there], nearer)
        around = np.pad(found, 1, mode="edge")
        for down, right in ((0, 1), (2, 1), (1, 0), (1, 2)):  # what a pixel beside has found may be nearer
            other = around[grid.rows + down, grid.columns + right]
            there = np.flatnonzero(other != own)
            nearer = self._quick_distance(x[there], y[there], other[there])[0]
            best[there] = np.minimum(best[there], nearer)
        return best.astype(np.float64)

    @cached_property
    def _quick_chords(self) -> NDArray[np.float32]:
        """Start from the first point, way and one over its squared length of each chord, a row each."""
        way = self.ends - self.points
        over = 1 / np.maximum((way * way).sum(axis=1), 1e-18)
        return np.vstack([(self.points - self.points[0]).T, way.T, over]).astype(np.float32)

    def _quick_distance(
        self, x: NDArray[np.float32], y: NDArray[np.float32], chord: NDArray[np.int64]
    ) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
        """As :meth:`_to_chord` in half the digits, of places from the first point: distance, and where along it."""
        left, low, right, up, over = (column.take(chord) for column in self._quick_chords)
        x, y = x - left, y - low
        share = np.clip((x * right + y * up) * over, 0, 1)
        x -= share * right
        y -= share * up
        return np.sqrt(x * x + y * y), share

    def distance_to(self, places: Floats, chords: NDArray[np.int64]) -> Floats:
        """Distance of each place, shape (n, 2), to the nearest of its chords, shape (n, k), and of those beside."""
        every = np.concatenate([chords, self.before[chords], self.after[chords]], axis=1)
        number = np.repeat(np.arange(len(places)), every.shape[1])
        distance = self._to_chord(places[number], every.ravel())[0]
        return np.asarray(distance.reshape(every.shape).min(axis=1))

    def distance(self, places: Floats) -> Floats:
        """Distance of each place, shape (…, 2), to the edge."""
        return self.nearest(places.reshape(-1, 2))[0].reshape(places.shape[:-1])

    def _to_chord(self, places: Floats, chord: NDArray[np.int64]) -> tuple[Floats, Floats, Floats]:
        """Distance to the chord of each place, the nearest place on it, and where along it that is, 0 to 1."""
        a, way = self.points[chord], self.ends[chord] - self.points[chord]
        length2 = np.maximum((way * way).sum(axis=1), 1e-18)
        share = np.clip(((places - a) * way).sum(axis=1) / length2, 0.0, 1.0)
        foot = a + share[:, None] * way
        return np.hypot(*(places - foot).T), foot, share

    def inside(self, places: Floats) -> Bools:
        """Whether each place, shape (…, 2), lies within the art."""
        return np.asarray(shapely.contains_xy(self.region, places[..., 0], places[..., 1]))
