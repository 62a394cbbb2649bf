"""The exact Voronoi diagram of a boundary: edges between two features, and which side they are on."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from artwork.axis.diagrams import Halves, Int32s, build
from artwork.axis.flattening import Boundary
from artwork.curves import Floats

Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]

FRAME_SHARE = 1.0
"""The frame around the art stands off by this share of its larger side, farther than lands matter."""
ON_BOUNDARY = 0.05
"""A vertex nearer than this (grid units) is on the boundary itself, a corner's own, give or take rounding."""
HOLE = 64
"""Of a segment so much (grid units) may seem not to be faced by any edge, for vertices are rounded."""
SEGMENT_START, SEGMENT_END = 1, 2  # Boost's source categories; 0 is a lone point, above 2 a segment's inside


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


class TornDiagramError(Exception):
    """The diagram that was made has holes: rounding on so fine a grid was too much for it."""


def voronoi(boundary: Boundary) -> Diagram:
    """The diagram of the boundary's segments and of a frame around them that closes outer lands off.

    Raises TornDiagramError.
    """
    count = len(boundary.points)
    segments = np.concatenate([_segments(boundary), _frame(boundary.points)])
    halves = build(segments)
    if _holes(halves, segments)[:count].any():
        raise TornDiagramError
    cell = halves.cell.reshape(-1, 2)
    framed = (halves.segment >= count)[cell].any(axis=1)
    finite = (halves.start >= 0).reshape(-1, 2).all(axis=1)
    between = _Between.of(boundary, halves, np.flatnonzero(~framed & finite))
    between = between.kept(~between.secondary(boundary))
    clearance = between.clearance(boundary, halves.vertices)
    off = np.maximum(clearance[between.start], clearance[between.end]) > ON_BOUNDARY
    between = between.kept(off)
    carved = between.carved(boundary, halves.vertices, clearance)
    facing = halves.segment[cell[framed]]
    outermost = np.unique(boundary.ring[facing[facing < count]])
    return Diagram(
        halves.vertices,
        clearance,
        between.start,
        between.end,
        carved,
        between.segments,
        between.points,
        outermost,
    )


def _segments(boundary: Boundary) -> Int32s:
    whole = boundary.points.astype(np.int32)
    return np.concatenate([whole, whole[boundary.following]], axis=1)


def _frame(points: Floats) -> Int32s:
    """Four segments around everything."""
    low, high = points.min(axis=0), points.max(axis=0)
    off = int(FRAME_SHARE * (high - low).max()) + 1
    (left, bottom), (right, top) = low - off, high + off
    corners = np.array([[left, bottom], [right, bottom], [right, top], [left, top]])
    return np.concatenate([corners, np.roll(corners, -1, axis=0)], axis=1).astype(np.int32)


def _holes(halves: Halves, segments: Int32s) -> Bools:
    """Which segments have a part that no edge of the diagram faces: seen from both sides all of it must be faced."""
    start = halves.start.reshape(-1, 2)
    whole = np.flatnonzero((start >= 0).all(axis=1))
    way = halves.vertices[start[whole, 1]] - halves.vertices[start[whole, 0]]
    along = (segments[:, 2:] - segments[:, :2]).astype(float)
    length = np.hypot(along[:, 0], along[:, 1])
    along /= length[:, None]
    faced = np.zeros(len(segments))
    for cell in halves.cell.reshape(-1, 2)[whole].T:
        inside = np.flatnonzero(halves.category[cell] > SEGMENT_END)
        segment = halves.segment[cell[inside]]
        reach = np.abs((way[inside] * along[segment]).sum(axis=1))
        faced += np.bincount(segment, reach, len(segments))
    return np.asarray(np.abs(faced - 2 * length) > HOLE)


@dataclass(frozen=True, eq=False)
class _Between:
    """Edges and the two features each lies between; as in :class:`Diagram`."""

    start: Ints
    end: Ints
    segments: Ints
    points: Ints

    @classmethod
    def of(cls, boundary: Boundary, halves: Halves, edges: Ints) -> _Between:
        """Of whole edges, given by number: the half-edges 2i and 2i + 1 are edge i."""
        cell = halves.cell.reshape(-1, 2)[edges]
        segments, category = halves.segment[cell], halves.category[cell]
        points = np.where(category == SEGMENT_START, segments, -1)
        second = category == SEGMENT_END
        points[second] = boundary.following[segments[second]]
        start, end = halves.start[::2][edges], halves.start[1::2][edges]
        return cls(*(found.astype(np.int64) for found in (start, end, segments, points)))

    def kept(self, which: Bools) -> _Between:
        return _Between(self.start[which], self.end[which], self.segments[which], self.points[which])

    def secondary(self, boundary: Boundary) -> Bools:
        """Edges between a segment and its own end, which are no part of any axis."""
        where = boundary.points
        touching = np.zeros(len(self.segments), bool)
        for mine, other in ((0, 1), (1, 0)):
            mixed = np.flatnonzero((self.points[:, mine] >= 0) & (self.points[:, other] < 0))
            point, segment = where[self.points[mixed, mine]], self.segments[mixed, other]
            for tip in (segment, boundary.following[segment]):
                touching[mixed] |= (point == where[tip]).all(axis=1)
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
