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
"""The frame around the art stands off by this share of its larger side: farther than any land that matters."""
CELLS_AT_ONCE = 4096
"""Cells turned into Python objects at a time: bounds memory, and keeps the garbage collector out of it."""
ON_BOUNDARY = 0.05
"""A vertex nearer than this (grid units) is on the boundary itself: a corner's own vertex, give or take rounding."""
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
    kept = ~framed & (ends >= 0).all(axis=1)
    start, end, cell = edges.start[kept], edges.end[kept], edges.cell[kept]
    segments = cells.segment[cell]
    points = np.where(
        cells.category[cell] == SEGMENT_START,
        segments,
        np.where(cells.category[cell] == SEGMENT_END, boundary.following[segments], -1),
    )
    real = ~_secondary(boundary, segments, points)
    start, end, segments, points = start[real], end[real], segments[real], points[real]
    clearance = _clearance(boundary, vertices, start, end, segments[:, 0], points[:, 0])
    off = np.maximum(clearance[start], clearance[end]) > ON_BOUNDARY
    start, end, segments, points = start[off], end[off], segments[off], points[off]
    carved = _carved(boundary, vertices, clearance, start, end, segments, points)
    facing = cells.segment[edges.cell[framed]]
    outermost = np.unique(boundary.ring[facing[facing < count]])
    return Diagram(vertices, clearance, start, end, carved, segments, points, outermost)


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
        # a cell's vertex list names the start of every edge in turn, and the first once more at its end
        rounds = np.fromiter(chain.from_iterable(map(attrgetter("vertices"), cells)), np.int64)
        place = np.arange(len(edges)) + np.repeat(np.arange(len(cells)), sizes)
        start[edges], end[edges] = rounds[place], rounds[place + 1]
        owner[edges] = np.repeat(np.arange(low, high), sizes)
    return _Cells(segment, category), _Edges(
        start[::2], end[::2], np.stack([owner[::2], owner[OPPOSITE::2]], axis=1)
    )


def _secondary(boundary: Boundary, segments: Ints, points: Ints) -> Bools:
    """Edges between a segment and its own end, which are no part of any axis."""
    where = boundary.points
    touching = np.zeros(len(segments), bool)
    for mine, other in ((0, 1), (1, 0)):
        point, segment = points[:, mine], segments[:, other]
        mixed = (point >= 0) & (points[:, other] < 0)
        for tip in (segment, boundary.following[segment]):
            touching |= mixed & (where[point] == where[tip]).all(axis=1)
    return touching


def _clearance(
    boundary: Boundary, vertices: Floats, start: Ints, end: Ints, segment: Ints, point: Ints
) -> Floats:
    """Distance of each vertex that an edge uses from one of the features it lies between."""
    clearance = np.zeros(len(vertices))
    first = boundary.points[segment]
    along = boundary.points[boundary.following[segment]] - first
    length = np.hypot(along[:, 0], along[:, 1])
    focus = boundary.points[point]
    for corner in (start, end):
        here = vertices[corner]
        off = here - first
        straight = np.abs(along[:, 0] * off[:, 1] - along[:, 1] * off[:, 0]) / length
        away = np.hypot(here[:, 0] - focus[:, 0], here[:, 1] - focus[:, 1])
        clearance[corner] = np.where(point < 0, straight, away)
    return clearance


def _carved(
    boundary: Boundary,
    vertices: Floats,
    clearance: Floats,
    start: Ints,
    end: Ints,
    segments: Ints,
    points: Ints,
) -> Bools:
    """Which edges lie in the art.

    A vertex beside a segment's inside lies on that segment's left or right. Vertices between points only
    take the side of what they are joined to: an edge never crosses the boundary.
    """
    off = clearance > ON_BOUNDARY
    joined = off[start] & off[end]
    links = coo_array(
        (np.ones(joined.sum(), np.int8), (start[joined], end[joined])), shape=(len(vertices), len(vertices))
    )
    groups, group = connected_components(links, directed=False)
    votes = np.zeros(groups)
    for side in (0, 1):
        beside = points[:, side] < 0
        first = boundary.points[segments[beside, side]]
        along = boundary.points[boundary.following[segments[beside, side]]] - first
        for corner in (start[beside], end[beside]):
            turn = along[:, 0] * (vertices[corner, 1] - first[:, 1])
            turn -= along[:, 1] * (vertices[corner, 0] - first[:, 0])
            votes += np.bincount(group[corner], np.where(off[corner], np.sign(turn), 0.0), groups)
    return np.asarray(votes[group[np.where(off[start], start, end)]] > 0)
