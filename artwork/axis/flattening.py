"""Curves → one set of straight boundary segments on an integer grid, fit for an exact Voronoi diagram."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import MultiLineString

from artwork.curves import Contour, Floats
from artwork.outline import Outline
from artwork.shapes import areas, next_on_ring, ring_shapes

Ints = NDArray[np.int64]

PIXEL_SHARE = 0.2
"""How far a chord may lie off a traced curve, in pixels: less than half of what tracing leaves open."""
SIDE_SHARE = 1 / 25_000
"""The same for vector art, as a share of its larger side: 4 µm on art of 100 mm."""
GRID_PER_TOLERANCE = 32
"""Grid steps per tolerance of curves. Finer would slow Boost's predicates and gain nothing; straight art,
which has no other error, is laid on the finest grid."""
LARGEST_COORDINATE = 2**25
"""Of straight art. Predicates take 32 bits, but from 2**27 on Boost now and then loses a vertex, and an edge with
it, where more than three features are all but equally near: two like squares that meet at a corner (measured)."""
REFINEMENTS = 4
"""Rounds of adding chords where the bound on their error is still above the tolerance."""
TINY = 1e-300
CORNER_TURN = 0.1
"""A joint of two curves that turns by less (radians) is smooth, and its chords may stand off the curve."""


@dataclass(frozen=True, eq=False)
class Boundary:
    """The outline as straight segments; segment ``i`` runs from ``points[i]`` to ``points[following[i]]``.

    Attributes:
        points: shape (n, 2), grid units (whole numbers held as floats), carved wood on the left of the way.
        following: shape (n,), index of the next point on the same ring.
        ring: shape (n,), which ring each point is on, counted from 0 without gaps.
        step: outline units per grid unit.
        origin: outline units of the grid's (0, 0), shape (2,).
        error: how far the segments may lie off the curves, outline units (0 for straight art on the grid).
        segment: shape (n,), the curve segment each point is on, counted over all contours of the outline; −1
            where the regions had to be rebuilt.
        share: shape (n,), where on that segment, 0 (its start) to less than 1.
    """

    points: Floats
    following: Ints
    ring: Ints
    step: float
    origin: Floats
    error: float
    segment: Ints
    share: Floats

    def in_units(self, grid: Floats) -> Floats:
        """Grid points in outline units."""
        return grid * self.step + self.origin


def chord_tolerance(outline: Outline) -> float:
    """How far the chords that an outline is judged by may lie off its curves, outline units."""
    return SIDE_SHARE * max(outline.size) if outline.pixel is None else PIXEL_SHARE * outline.pixel


def flattened(outline: Outline, coarser: int = 1) -> Boundary:
    """The outline's boundary as segments that meet only at their ends.

    Where rounding or chords make neighbouring curves cross or touch, the regions are rebuilt on the grid
    (GEOS snap-rounding), which moves nothing by more than a grid step.

    Args:
        outline: what is drawn.
        coarser: by how many times its grid is coarser than it might be, a power of two.
    """
    left, low, right, high = outline.bounds
    size = max(right - left, high - low)
    tolerance = chord_tolerance(outline)
    curved = any(not contour.straight.all() for contour in outline.contours)
    finest = size / LARGEST_COORDINATE
    # a power of two, so that art drawn in whole or binary units is on the grid as it is
    least = max(tolerance / GRID_PER_TOLERANCE, finest) if curved else finest
    step = coarser * float(2.0 ** np.floor(np.log2(least)))
    origin = np.rint(np.array([(left + right) / 2, (low + high) / 2]) / step) * step
    points, ring, chord, segment, share = _polylines(outline.contours, tolerance)
    snapped = np.rint((points - origin) / step)
    whole = bool(np.array_equal(snapped * step + origin, points))
    error = chord if whole else chord + step  # a point moves by at most √½ step
    snapped, ring, following, kept = _rings(snapped, ring)
    segment, share = segment[kept], share[kept]
    if not _meets_only_at_ends(snapped, ring):
        snapped, ring, following, _ = _rebuilt(snapped, ring)
        segment, share = np.full(len(snapped), -1), np.zeros(len(snapped))
    return Boundary(snapped, following, ring, step, origin, error, segment, share)


def _polylines(contours: tuple[Contour, ...], tolerance: float) -> tuple[Floats, Ints, float, Ints, Floats]:
    """Points of all curves at once, the ring each is on, how far a chord may lie off its curve, and of each
    point the segment and the share of it where it lies."""
    curves = _Curves.of(contours)
    # a chord of n equal steps leaves its cubic by at most max|B″|/(8n²); moved points halve that
    steps = np.maximum(np.ceil(np.sqrt(curves.most_bent() / (16 * tolerance))), 1).astype(np.int64)
    for _ in range(REFINEMENTS):
        points, error = curves.chords(steps)
        coarse = error > tolerance
        if not coarse.any():
            break
        steps[coarse] += np.maximum(np.ceil(0.25 * steps[coarse]), 1).astype(np.int64)
    else:
        points, error = curves.chords(steps)
    segment = np.repeat(np.arange(len(steps)), steps)
    share = (np.arange(len(segment)) - np.repeat(np.cumsum(steps) - steps, steps)) / steps[segment]
    return points, curves.ring[segment], float(error.max(initial=0.0)), segment, share


@dataclass(frozen=True, eq=False)
class _Curves:
    """All segments of all contours: cubics from ``a`` over ``b`` and ``c`` to ``d``, each shape (n, 2).

    Attributes:
        straight: shape (n,), which are lines.
        bends: shape (2, n, 2), second derivatives at both ends; between them they change evenly.
        following: shape (n,), the next segment on the same ring.
        ring: shape (n,).
        smooth: shape (n,), whether the curve runs on without a corner at ``a``.
    """

    a: Floats
    b: Floats
    c: Floats
    d: Floats
    straight: NDArray[np.bool_]
    bends: Floats
    following: Ints
    ring: Ints
    smooth: NDArray[np.bool_]

    @classmethod
    def of(cls, contours: tuple[Contour, ...]) -> _Curves:
        a = np.concatenate([contour.knots for contour in contours])
        controls = np.concatenate([contour.controls for contour in contours])
        lengths = np.array([len(contour.knots) for contour in contours])
        following = next_on_ring(lengths)
        b, c, d = controls[:, 0], controls[:, 1], a[following]
        straight = np.isnan(b[:, 0])
        bends = np.stack([6 * (a - 2 * b + c), 6 * (b - 2 * c + d)])
        bends[:, straight] = 0.0
        ring = np.repeat(np.arange(len(lengths)), lengths)
        return cls(a, b, c, d, straight, bends, following, ring, _smooth(b - a, d - c, following))

    def most_bent(self) -> Floats:
        """Largest second derivative across the curve's own direction, at its ends and middle."""
        found = np.zeros(len(self.a))
        for t in (0.0, 0.5, 1.0):
            here = _unit(self._velocity(np.arange(len(found)), np.full((len(found), 1), t)))
            bend = (1 - t) * self.bends[0] + t * self.bends[1]
            found = np.fmax(found, np.abs(_cross(here, bend)))
        return found

    def _velocity(self, which: Ints, t: Floats) -> Floats:
        """A third of the first derivative."""
        a, b, c, d = self.a[which], self.b[which], self.c[which], self.d[which]
        s = 1 - t
        return s * s * (b - a) + 2 * s * t * (c - b) + t * t * (d - c)

    def chords(self, steps: Ints) -> tuple[Floats, Floats]:
        """Start points of the chords, and for each segment how far its chords may lie off the curve.

        All of a chord's error is on the hollow side of the curve. So the points stand off to the other side
        by half of it, except at corners and on straight lines.
        """
        which = np.repeat(np.arange(len(steps)), steps)
        first = np.cumsum(steps) - steps
        last = first + steps - 1
        after = np.arange(1, len(which) + 1)
        after[last] = first[self.following]
        t = ((np.arange(len(which)) - first[which]) / steps[which])[:, None]
        points = _cubics(self.a[which], self.b[which], self.c[which], self.d[which], t)
        straight = self.straight[which]
        points[straight] = self.a[which][straight]
        square = 8.0 * steps.astype(float)[:, None] ** 2
        start, end = self.bends / square
        off = (1 - t) * start[which] + t * end[which]
        off_after = off[after]
        off_after[last] = end
        shift = self._shift(which, t, off, off_after, last)
        shift[first] = np.where(self.smooth[:, None], shift[first], 0.0)
        shift[straight] = 0.0
        chord = _unit(points[after] - points)
        error = _chord_error(_cross(chord, off), _cross(chord, off_after), shift, shift[after], chord)
        return points + shift, np.asarray(np.maximum.reduceat(error, first))

    def _shift(self, which: Ints, t: Floats, off: Floats, off_after: Floats, last: Ints) -> Floats:
        """Half of what the chords on both sides leave the curve by, outwards, square to the curve."""
        here = _unit(self._velocity(which, t))
        before = np.arange(-1, len(which) - 1)
        first = np.append(0, last[:-1] + 1)
        before[first[self.following]] = last
        pull = -_cross(here, (off + off_after[before]) / 2) / 2
        return np.stack([-here[:, 1] * pull, here[:, 0] * pull], axis=1)


def _cross(a: Floats, b: Floats) -> Floats:
    return np.asarray(a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0])


def _unit(vectors: Floats) -> Floats:
    return np.asarray(vectors / np.maximum(np.hypot(vectors[:, 0], vectors[:, 1]), TINY)[:, None])


def _cubics(a: Floats, b: Floats, c: Floats, d: Floats, t: Floats) -> Floats:
    s = 1 - t
    return s * s * (s * a + 3 * t * b) + t * t * (3 * s * c + t * d)


def _smooth(leaving: Floats, arriving: Floats, following: Ints) -> NDArray[np.bool_]:
    """Where two cubics join without a corner; never beside straight lines, whose directions are NaN."""
    before = np.empty_like(following)
    before[following] = np.arange(len(following))
    incoming = arriving[before]
    along = (incoming * leaving).sum(axis=1)
    turn = incoming[:, 0] * leaving[:, 1] - incoming[:, 1] * leaving[:, 0]
    return np.asarray(np.abs(turn) < CORNER_TURN * along)


def _chord_error(off: Floats, off_after: Floats, shift: Floats, shift_after: Floats, chord: Floats) -> Floats:
    """Bound on the distance between each moved chord and its curve.

    A curve leaves its unmoved chord by at most ``4·g·u(1 − u)`` at the share u of its length, g the larger
    of ``|B″|/(8n²)`` across the chord at its ends; the moved chord has left it there by ``a(1 − u) + b·u``.
    Their difference is greatest, at ``g − (a + b)/2 + (a − b)²/(16·g)``, inside the chord if
    ``|a − b| < 4·g`` and otherwise at its ends, where it is a shift; on the other side it is at most the
    larger shift.
    """
    side = -np.sign(off + off_after)
    a, b = side * _cross(chord, shift), side * _cross(chord, shift_after)
    sagitta = np.maximum(np.abs(off), np.abs(off_after))
    inner = sagitta - (a + b) / 2 + (a - b) ** 2 / (16 * np.maximum(sagitta, TINY))
    inner = np.where(np.abs(a - b) < 4 * sagitta, inner, 0.0)
    outer = np.sqrt(np.maximum((shift**2).sum(axis=1), (shift_after**2).sum(axis=1)))
    return np.asarray(np.maximum(inner, outer))


def _rings(points: Floats, ring: Ints) -> tuple[Floats, Ints, Ints, Ints]:
    """Repeated points taken out, rings of fewer than three points dropped, rings numbered anew.

    Returns points, ring, the next point's index, and the indices of the points that are kept.
    """
    following = next_on_ring(np.bincount(ring)[np.unique(ring)])
    kept = np.flatnonzero((points != points[following]).any(axis=1))
    count = np.bincount(ring[kept])
    kept = kept[count[ring[kept]] >= 3]
    _, ring = np.unique(ring[kept], return_inverse=True)
    return points[kept], ring.astype(np.int64), next_on_ring(np.bincount(ring)), kept


def _meets_only_at_ends(points: Floats, ring: Ints) -> bool:
    """Whether no two segments share anything but the ends of neighbours on their ring."""
    return bool(shapely.is_simple(MultiLineString(ring_shapes(points, ring))))


def _rebuilt(points: Floats, ring: Ints) -> tuple[Floats, Ints, Ints, Ints]:
    """The same regions, by the even-odd rule, with every crossing and touch made a vertex on the grid."""
    noded = shapely.union_all(MultiLineString(ring_shapes(points, ring)), grid_size=1.0)
    faces = areas(shapely.polygonize([noded]))
    inner = shapely.get_coordinates([face.representative_point() for face in faces])
    carved = _odd(inner, points, ring)
    region = shapely.union_all([face for face, odd in zip(faces, carved, strict=True) if odd])
    found = shapely.get_rings(areas(shapely.orient_polygons(region)))
    where, which = shapely.get_coordinates(found, return_index=True)
    return _rings(where, which.astype(np.int64))


def _odd(places: Floats, points: Floats, ring: Ints) -> NDArray[np.bool_]:
    """Which places an odd number of the rings' segments lie to the right of."""
    start, end = points, points[next_on_ring(np.bincount(ring))]
    found = np.zeros(len(places), bool)
    for number, (x, y) in enumerate(places):
        crossed = (start[:, 1] > y) != (end[:, 1] > y)
        a, b = start[crossed], end[crossed]
        at = a[:, 0] + (y - a[:, 1]) / (b[:, 1] - a[:, 1]) * (b[:, 0] - a[:, 0])
        found[number] = (at > x).sum() % 2 == 1
    return found
