"""The exact Voronoi diagram of boundary segments (Boost's, through pyvoronoi), read out into arrays."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import chain
from operator import attrgetter

import numpy as np
import pyvoronoi
from numpy.typing import NDArray
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from artwork.axis.flattening import Boundary
from artwork.curves import Floats

Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]

FRAME_SHARE = 1.0
"""The frame around the art stands off by this share of its larger side, farther than lands matter."""
CELLS_AT_ONCE = 4096
"""Cells turned into Python objects at a time: bounds memory, and keeps the garbage collector out of it."""
ON_BOUNDARY = 0.05
"""A vertex nearer than this (grid units) is on the boundary itself, a corner's own, give or take rounding."""
SEGMENT_START, SEGMENT_END = 1, 2  # Boost's source categories; 0 is a lone point, above 2 a segment's inside
OPPOSITE = 1  # Boost keeps the two halves of an edge side by side: the twin of 2i is 2i + 1


@dataclass(frozen=True, eq=False)
class Diagram:
    """Voronoi edges between two boundary features, both within the frame; grid units.

    Attributes:
        vertices: shape (v, 2).
        clearance: shape (v,), distance of each vertex from the boundary.
        start, end: shape (e,), vertex numbers of each edge.
        carved: shape (e,), whether the edge lies in the art.
        segments: shape (e, 2), for both neighbours the segment (its first point's index in the boundary).
        points: shape (e, 2), for both neighbours the boundary point, or −1 where it is the segment itself.
        outermost: numbers of the rings that face the frame.
    """

    vertices: Floats
    clearance: Floats
    start: Ints
    end: Ints
    carved: Bools
    segments: Ints
    points: Ints
    outermost: Ints


def voronoi(boundary: Boundary) -> Diagram:
    """The diagram of the boundary's segments and of a frame around them that closes outer lands off."""
    count = len(boundary.points)
    vertices, cells, edges = _built(boundary)
    framed = (cells.segment >= count)[edges.cell].any(axis=1)
    ends = np.stack([edges.start, edges.end], axis=1)
    between = _Between.of(boundary, cells, edges, np.asarray(~framed & (ends >= 0).all(axis=1)))
    between = between.kept(~between.secondary(boundary))
    clearance = between.clearance(boundary, vertices)
    off = np.maximum(clearance[between.start], clearance[between.end]) > ON_BOUNDARY
    between = between.kept(off)
    carved = between.carved(boundary, vertices, clearance)
    facing = cells.segment[edges.cell[framed]]
    outermost = np.unique(boundary.ring[facing[facing < count]])
    return Diagram(
        vertices,
        clearance,
        between.start,
        between.end,
        carved,
        between.segments,
        between.points,
        outermost,
    )


@dataclass(frozen=True, eq=False)
class _Cells:
    segment: Ints
    category: Ints


@dataclass(frozen=True, eq=False)
class _Edges:
    """One row per pair of half-edges: its vertices (−1 at infinity) and the cells on both sides."""

    start: Ints
    end: Ints
    cell: Ints


def _built(boundary: Boundary) -> tuple[Floats, _Cells, _Edges]:
    builder = pyvoronoi.Pyvoronoi(1)
    whole = boundary.points.astype(np.int64)
    for segment in np.stack([whole, whole[boundary.following]], axis=1).tolist():
        builder.AddSegment(segment)
    for segment in _frame(whole):
        builder.AddSegment(segment)
    builder.Construct()
    total = builder.CountVertices()
    corners = [builder.GetVertex(index) for index in range(total)]
    vertices = np.empty((total, 2))
    vertices[:, 0] = np.fromiter(map(attrgetter("X"), corners), float, total)
    vertices[:, 1] = np.fromiter(map(attrgetter("Y"), corners), float, total)
    return vertices, *_cells_and_edges(builder)


def _frame(points: Ints) -> list[list[list[int]]]:
    low, high = points.min(axis=0), points.max(axis=0)
    off = int(FRAME_SHARE * (high - low).max()) + 1
    (left, bottom), (right, top) = (low - off).tolist(), (high + off).tolist()
    corners = [[left, bottom], [right, bottom], [right, top], [left, top]]
    return [[corners[i], corners[(i + 1) % 4]] for i in range(4)]


def _cells_and_edges(builder: pyvoronoi.Pyvoronoi) -> tuple[_Cells, _Edges]:
    """Everything from the cells alone: their edge and vertex lists say where each half-edge runs."""
    total, halves = builder.CountCells(), builder.CountEdges()
    segment, category = np.empty(total, np.int64), np.empty(total, np.int64)
    start, end, owner = (np.full(halves, -1, np.int64) for _ in range(3))
    for low in range(0, total, CELLS_AT_ONCE):
        high = min(low + CELLS_AT_ONCE, total)
        cells = [builder.GetCell(index) for index in range(low, high)]
        segment[low:high] = np.fromiter(map(attrgetter("site"), cells), np.int64, high - low)
        category[low:high] = np.fromiter(map(attrgetter("source_category"), cells), np.int64, high - low)
        loops = list(map(attrgetter("edges"), cells))
        sizes = np.fromiter(map(len, loops), np.int64, high - low)
        edges = np.fromiter(chain.from_iterable(loops), np.int64, sizes.sum())
        # a cell's vertex list names the start of every edge in turn, and the first once more at its end; a
        # point that several rings share has further cells without any
        rounds = np.fromiter(chain.from_iterable(map(attrgetter("vertices"), cells)), np.int64)
        place = np.arange(len(edges)) + np.repeat(np.cumsum(sizes > 0) - 1, sizes)
        start[edges], end[edges] = rounds[place], rounds[place + 1]
        owner[edges] = np.repeat(np.arange(low, high), sizes)
    return _Cells(segment, category), _Edges(
        start[::2], end[::2], np.stack([owner[::2], owner[OPPOSITE::2]], axis=1)
    )


@dataclass(frozen=True, eq=False)
class _Between:
    """Edges and the two features each lies between; as in :class:`Diagram`."""

    start: Ints
    end: Ints
    segments: Ints
    points: Ints

    @classmethod
    def of(cls, boundary: Boundary, cells: _Cells, edges: _Edges, kept: Bools) -> _Between:
        cell = edges.cell[kept]
        segments, category = cells.segment[cell], cells.category[cell]
        # the end point of a frame's segment has no place in the boundary, but its edges are not kept
        tips = np.where(category == SEGMENT_END, boundary.following[segments], -1)
        points = np.where(category == SEGMENT_START, segments, tips)
        return cls(edges.start[kept], edges.end[kept], segments, points)

    def kept(self, which: Bools) -> _Between:
        return _Between(self.start[which], self.end[which], self.segments[which], self.points[which])

    def secondary(self, boundary: Boundary) -> Bools:
        """Edges between a segment and its own end, which are no part of any axis."""
        where = boundary.points
        touching = np.zeros(len(self.segments), bool)
        for mine, other in ((0, 1), (1, 0)):
            point, segment = self.points[:, mine], self.segments[:, other]
            mixed = (point >= 0) & (self.points[:, other] < 0)
            for tip in (segment, boundary.following[segment]):
                touching |= mixed & (where[point] == where[tip]).all(axis=1)
        return touching

    def clearance(self, boundary: Boundary, vertices: Floats) -> Floats:
        """Distance of each vertex that an edge uses from one of the features it lies between."""
        found = np.zeros(len(vertices))
        first, along = _lines(boundary, self.segments[:, 0])
        length = np.hypot(along[:, 0], along[:, 1])
        focus, straight = boundary.points[self.points[:, 0]], self.points[:, 0] < 0
        for corner in (self.start, self.end):
            here = vertices[corner]
            from_line = np.abs(_cross(along, here - first)) / length
            from_point = np.hypot(here[:, 0] - focus[:, 0], here[:, 1] - focus[:, 1])
            found[corner] = np.where(straight, from_line, from_point)
        return found

    def carved(self, boundary: Boundary, vertices: Floats, clearance: Floats) -> Bools:
        """Which edges lie in the art.

        A vertex beside a segment's inside lies on that segment's left or right. Vertices between points only
        take the side of what they are joined to: an edge never crosses the boundary.
        """
        off = clearance > ON_BOUNDARY
        joined = off[self.start] & off[self.end]
        links = (np.ones(joined.sum(), np.int8), (self.start[joined], self.end[joined]))
        size = (len(vertices), len(vertices))
        groups, group = connected_components(coo_array(links, shape=size), directed=False)
        votes = np.zeros(groups)
        for side in (0, 1):
            beside = self.points[:, side] < 0
            first, along = _lines(boundary, self.segments[beside, side])
            for corner in (self.start[beside], self.end[beside]):
                left = np.sign(_cross(along, vertices[corner] - first))
                votes += np.bincount(group[corner], np.where(off[corner], left, 0.0), groups)
        return np.asarray(votes[group[np.where(off[self.start], self.start, self.end)]] > 0)


def _lines(boundary: Boundary, segments: Ints) -> tuple[Floats, Floats]:
    """First points and directions of segments."""
    first = boundary.points[segments]
    return first, boundary.points[boundary.following[segments]] - first


def _cross(a: Floats, b: Floats) -> Floats:
    return np.asarray(a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0])
