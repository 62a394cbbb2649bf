"""Voronoi edges → stretches along which the clearance only rises or only falls.

On the edge between two points, and on the parabola between a point and a segment, the clearance has its least
value at the apex, in closed form; edges are cut there, and where their feet come to be seen under 120°.
Base line coordinates ``t``: along the bisector from the midpoint of the two points, ``r² = h² + t²``; along
the segment from the foot of the point, ``r = (t² + p²) / (2p)``; both give 120° at a fixed ``t``.
"""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from artwork.axis.anatomy import BISECTOR, PARABOLA, STRAIGHT, Climb
from artwork.axis.flattening import Boundary
from artwork.axis.voronoi import Diagram
from artwork.curves import Floats

Ints = NDArray[np.int64]

WIDE = -0.5 - 1e-4
"""Cosine of the angle of 120° under which the feet of a line's axis are seen at least. The remainder,
less than a hundredth of a degree, keeps 60° corners, as in equilateral triangles, corners on any grid."""
BOW = 1.05
"""A parabola's half is at most 4.6 % longer than its chord."""


@dataclass(frozen=True, eq=False)
class Stretches:
    """Parts of Voronoi edges, grid units; see :class:`artwork.axis.anatomy.Axis` for most of the arrays.

    ``edge`` tells the Voronoi edge of each, ``wide`` whether its feet are seen under 120° or more, ``cosine``
    the cosine of that angle halfway. Vertex numbers in ``ends`` beyond the diagram's are cuts inside an edge.
    """

    edge: Ints
    ends: Ints
    places: Floats
    clearance: Floats
    runs: Floats
    kind: NDArray[np.int8]
    headings: Floats
    wide: NDArray[np.bool_]
    cosine: Floats

    def chosen(self, which: NDArray[np.bool_]) -> Stretches:
        """Some of them."""
        return Stretches(*(getattr(self, field.name)[which] for field in fields(self)))

    @cached_property
    def climb(self) -> Climb:
        """From each vertex the one way on which the clearance grows, if there is one; grid units.

        Of the stretches at a vertex at most one rises from it: its feet leave more than 180° free, and no two
        pairs of feet can.
        """
        count = int(self.ends.max(initial=-1)) + 1
        up, length, leaves = np.full(count, -1), np.zeros(count), np.zeros(count, bool)
        row = np.flatnonzero(self.clearance[:, 0] != self.clearance[:, 1])
        high = self.clearance[row].argmax(axis=1)
        low_end = self.ends[row, 1 - high]
        up[low_end] = self.ends[row, high]
        chord = np.hypot(*(self.places[row, 1] - self.places[row, 0]).T)
        length[low_end] = np.where(self.kind[row] == PARABOLA, BOW * chord, chord)
        leaves[low_end] = ~self.wide[row]
        clearance = np.zeros(count)
        clearance[self.ends] = self.clearance
        kind, runs = np.zeros(count, np.int8), np.zeros((count, 2))
        kind[low_end] = self.kind[row]
        runs[low_end] = np.where((high == 1)[:, None], self.runs[row], self.runs[row, ::-1])
        return Climb(up, length, clearance, leaves, kind, runs)


def stretches(boundary: Boundary, diagram: Diagram) -> Stretches:
    """All edges of both sides, cut."""
    on_point = diagram.points >= 0
    kind = on_point.sum(axis=1)
    parts = [
        _between_segments(boundary, diagram, np.flatnonzero(kind == 0)),
        _around_apex(diagram, _parabolas(boundary, diagram, np.flatnonzero(kind == 1), on_point)),
        _around_apex(diagram, _bisectors(boundary, diagram, np.flatnonzero(kind == 2))),
    ]
    found = _stacked(parts)
    cuts, number = np.unique(found.ends, return_inverse=True)
    beyond = cuts >= len(diagram.vertices)
    numbers = np.where(beyond, len(diagram.vertices) + np.cumsum(beyond) - 1, cuts)
    return replace(found, ends=numbers[number].reshape(-1, 2))


def _stacked(parts: list[Stretches]) -> Stretches:
    names = [field.name for field in fields(Stretches)]
    return Stretches(*(np.concatenate([getattr(part, name) for part in parts]) for name in names))


def _cosine(along: Floats) -> Floats:
    """Cosine of the angle under which the feet on two segments are seen: that between their normals."""
    dot = (along[:, 0] * along[:, 1]).sum(axis=1)
    return np.asarray(dot / np.sqrt((along**2).sum(axis=2).prod(axis=1)))


def _between_segments(boundary: Boundary, diagram: Diagram, edges: Ints) -> Stretches:
    first = boundary.points[diagram.segments[edges]]
    along = boundary.points[boundary.following[diagram.segments[edges]]] - first
    cosine = _cosine(along)
    ends = np.stack([diagram.start[edges], diagram.end[edges]], axis=1)
    places, clearance = diagram.vertices[ends], diagram.clearance[ends]
    length = np.hypot(*(places[:, 1] - places[:, 0]).T)
    # an axis between nearly opposite segments runs along the difference of their unit directions
    unit = along / np.hypot(along[..., 0], along[..., 1])[..., None]
    heading = np.arctan2(*(unit[:, 0] - unit[:, 1]).T[::-1])
    return Stretches(
        edges,
        ends,
        places,
        clearance,
        np.stack([np.zeros(len(edges)), length], axis=1),
        np.full(len(edges), STRAIGHT, np.int8),
        np.stack([heading, heading], axis=1),
        cosine <= WIDE,
        cosine,
    )


@dataclass(frozen=True, eq=False)
class _Curved:
    """Edges with an apex: base line through ``origin`` along ``axis``, ``t`` at both ends, least size."""

    edge: Ints
    kind: int
    origin: Floats  # where t = 0 lies on the base line
    axis: Floats
    normal: Floats  # from the base line to the apex's side
    t: Floats
    size: Floats  # p: focus to line; or h: half of point to point

    def clearance(self, which: Ints, t: Floats) -> Floats:
        size = self.size[which]
        if self.kind == PARABOLA:
            return (t * t + size * size) / (2 * size)
        return np.hypot(size, t)

    def place(self, which: Ints, t: Floats) -> Floats:
        found = self.origin[which] + t[:, None] * self.axis[which]
        if self.kind == PARABOLA:
            found = found + self.clearance(which, t)[:, None] * self.normal[which]
        return found

    def cosine(self, which: Ints, t: Floats) -> Floats:
        share = self.size[which] / self.clearance(which, t)
        return 1 - share if self.kind == PARABOLA else 1 - 2 * share**2

    def heading(self, which: Ints, t: Floats) -> Floats:
        way = self.axis[which]
        if self.kind == PARABOLA:
            way = way + (t / self.size[which])[:, None] * self.normal[which]
        return np.arctan2(way[:, 1], way[:, 0])


def _parabolas(boundary: Boundary, diagram: Diagram, edges: Ints, on_point: NDArray[np.bool_]) -> _Curved:
    side = on_point[edges].argmax(axis=1)
    focus = boundary.points[diagram.points[edges, side]]
    segment = diagram.segments[edges, 1 - side]
    first = boundary.points[segment]
    along = boundary.points[boundary.following[segment]] - first
    axis = along / np.hypot(along[:, 0], along[:, 1])[:, None]
    normal = np.stack([-axis[:, 1], axis[:, 0]], axis=1)
    height = ((focus - first) * normal).sum(axis=1)
    normal *= np.sign(height)[:, None]
    size = np.abs(height)
    origin = focus - size[:, None] * normal
    return _Curved(edges, PARABOLA, origin, axis, normal, _along(diagram, edges, focus, axis), size)


def _bisectors(boundary: Boundary, diagram: Diagram, edges: Ints) -> _Curved:
    pair = boundary.points[diagram.points[edges]]
    across = pair[:, 1] - pair[:, 0]
    distance = np.hypot(across[:, 0], across[:, 1])
    axis = np.stack([-across[:, 1], across[:, 0]], axis=1) / distance[:, None]
    middle = pair.mean(axis=1)
    return _Curved(edges, BISECTOR, middle, axis, axis, _along(diagram, edges, middle, axis), distance / 2)


def _along(diagram: Diagram, edges: Ints, origin: Floats, axis: Floats) -> Floats:
    """Base line coordinate of both ends, shape (n, 2)."""
    ends = np.stack([diagram.start[edges], diagram.end[edges]], axis=1)
    off = diagram.vertices[ends] - origin[:, None]
    return np.asarray((off * axis[:, None]).sum(axis=2))


def _around_apex(diagram: Diagram, curved: _Curved) -> Stretches:
    """Up to four stretches per edge: cut at the apex, and on both sides where 120° is reached."""
    limit = curved.size / np.sqrt(3)  # 1 − p/r = −½, and h/r = sin 60°, both at t = size/√3
    backwards = curved.t[:, 0] > curved.t[:, 1]
    t = np.sort(curved.t, axis=1)
    vertex = np.stack([diagram.start[curved.edge], diagram.end[curved.edge]], axis=1)
    vertex[backwards] = vertex[backwards][:, ::-1]
    zero, far = np.zeros_like(limit), np.full_like(limit, np.inf)
    bounds = [-far, -limit, zero, limit, far]
    cut = len(diagram.vertices) + 3 * curved.edge  # numbers of the three cuts an edge can have
    pieces = []
    for number in range(4):
        low, high = bounds[number], bounds[number + 1]
        left, right = np.maximum(t[:, 0], low), np.minimum(t[:, 1], high)
        which = np.flatnonzero(left < right)
        before = np.where(t[which, 0] >= low[which], vertex[which, 0], cut[which] + number - 1)
        after = np.where(t[which, 1] <= high[which], vertex[which, 1], cut[which] + number)
        ends = np.stack([before, after], axis=1)
        pieces.append(_piece(curved, which, ends, (left[which], right[which]), number in (1, 2)))
    return _stacked(pieces)


def _piece(curved: _Curved, which: Ints, ends: Ints, between: tuple[Floats, Floats], wide: bool) -> Stretches:
    left, right = between

    def both(values: Floats, other: Floats) -> Floats:
        return np.stack([values, other], axis=1)

    return Stretches(
        curved.edge[which],
        ends,
        both(curved.place(which, left), curved.place(which, right)),
        both(curved.clearance(which, left), curved.clearance(which, right)),
        both(left, right),
        np.full(len(which), curved.kind, np.int8),
        both(curved.heading(which, left), curved.heading(which, right)),
        np.full(len(which), wide),
        curved.cosine(which, (left + right) / 2),
    )
