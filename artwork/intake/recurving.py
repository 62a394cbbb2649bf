"""Polygons cut from flattened curves → the curves again.

Every edge of such a polygon lies on a chord of some source curve. Neighbouring edges on the same curve are
one stretch of it, and that stretch is cut from the curve itself, so only the places where curves were cut are
as rough as the flattening.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from artwork.curves import Contour, Floats, sampled, stretches

_JOIN = 1e-6
"""Two edges are one stretch where the second starts this near, by parameter, to the first's end."""
_SAME_POINT = 1e-9
"""Vertices nearer to each other than this share of the drawing's side are one."""
_ON_CHORD = 1e-11
"""A point nearer to a chord than this share of the drawing's side lies on it, but for rounding."""
_MIX = np.array([0x9E3779B97F4A7C15, 0xC2B2AE3D27D4EB4F, 0xD6E8FEB86659FD93], np.uint64)
"""Odd multipliers that spread the bits of a coordinate."""


@dataclass(frozen=True, eq=False)
class _Chords:
    """Chords of all source curves: end points, segment over all contours, parameters at both ends."""

    start: Floats
    end: Floats
    segment: NDArray[np.int64]
    t0: Floats
    t1: Floats


@dataclass(frozen=True, eq=False)
class _Edges:
    """Edges of all polygon rings, one after another, and where on the sources they lie.

    ``before`` is the edge before each in its ring, ``ring`` which ring it belongs to.
    """

    start: Floats
    end: Floats
    before: NDArray[np.int64]
    ring: NDArray[np.int64]
    segment: NDArray[np.int64]
    t0: Floats
    t1: Floats


def recurved(region: BaseGeometry, sources: Sequence[Contour], tolerance: float) -> list[Contour]:
    """The contours of ``region``, which was cut from ``sources`` flattened to ``tolerance``."""
    rings = _rings(region)
    if not rings:
        return []
    chords = _chords(sources, tolerance)
    low, high = chords.start.min(axis=0), chords.start.max(axis=0)
    rings = [_tidied(ring, _SAME_POINT * float((high - low).max())) for ring in rings]
    rings = [ring for ring in rings if len(ring) >= 3]
    if not rings:
        return []
    beziers = np.concatenate([contour.beziers for contour in sources])
    return _contours(_located(rings, chords), beziers)


def _rings(region: BaseGeometry) -> list[Floats]:
    """Outer rings counter-clockwise, holes clockwise, first point not repeated."""
    found = []
    for part in shapely.get_parts(region):
        if part.geom_type == "Polygon" and not part.is_empty:
            polygon = shapely.orient_polygons(part)
            found += [shapely.get_coordinates(ring)[:-1] for ring in (polygon.exterior, *polygon.interiors)]
    return found


def _tidied(ring: Floats, apart: float) -> Floats:
    """Without vertices that fall on the one before."""
    return np.asarray(ring[np.hypot(*(ring - np.roll(ring, 1, axis=0)).T) > apart])


def _chords(sources: Sequence[Contour], tolerance: float) -> _Chords:
    samples = sampled(sources, tolerance)
    following = np.arange(1, len(samples.points) + 1)
    following[samples.starts[1:] - 1] = samples.starts[:-1]
    t1 = samples.t[following]
    return _Chords(
        samples.points,
        samples.points[following],
        samples.segment,
        samples.t,
        np.where(t1 == 0, 1.0, t1),
    )


def _located(rings: list[Floats], chords: _Chords) -> _Edges:
    """The chord under each edge: the one nearest its middle."""
    start = np.concatenate(rings)
    counts = np.array([len(ring) for ring in rings])
    firsts = np.cumsum(counts) - counts
    before = np.arange(len(start)) - 1
    before[firsts] = firsts + counts - 1
    end = np.empty_like(start)
    end[before] = start
    chord, backward = _known(start, end, chords)
    unknown = np.flatnonzero(chord < 0)
    if len(unknown):
        chord[unknown] = _nearest((start[unknown] + end[unknown]) / 2, chords, taken=chord[chord >= 0])
    t0, t1 = chords.t0[chord], chords.t1[chord]
    t0, t1 = np.where(backward, t1, t0), np.where(backward, t0, t1)
    t0[unknown] = _parameter(start[unknown], chord[unknown], chords)
    t1[unknown] = _parameter(end[unknown], chord[unknown], chords)
    ring = np.repeat(np.arange(len(rings)), counts)
    return _Edges(start, end, before, ring, chords.segment[chord], t0, t1)


def _nearest(points: Floats, chords: _Chords, taken: NDArray[np.int64]) -> NDArray[np.int64]:
    """The chord nearest to each point; ``taken`` ones are whole edges of the result, and no others lie there."""
    free = np.ones(len(chords.start), bool)
    free[taken] = False
    candidates = np.flatnonzero(free) if free.any() else np.arange(len(free))
    lines = shapely.linestrings(np.stack([chords.start[candidates], chords.end[candidates]], axis=1))
    tree = shapely.STRtree(np.asarray(lines))
    at = np.asarray(shapely.points(points))
    reach = _ON_CHORD * float(np.ptp(chords.start, axis=0).max())
    which, there = tree.query(at, predicate="dwithin", distance=reach)  # five times faster than the nearest
    far = np.setdiff1d(np.arange(len(points)), which)
    further, nearest = tree.query_nearest(at[far]) if len(far) else (far, far)
    # several may be equally near; the first in painting order, the same along a shared edge
    first = np.full(len(points), np.iinfo(np.int64).max)
    np.minimum.at(first, which, candidates[there])
    np.minimum.at(first, far[further], candidates[nearest])
    return first


def _known(start: Floats, end: Floats, chords: _Chords) -> tuple[NDArray[np.int64], NDArray[np.bool_]]:
    """Edges that are whole chords, found by their end points being the very same numbers; −1 for others.

    With it which of them run from their chord's end to its start.
    """
    keys, wanted = _keys(chords.start) + _keys(chords.end), _keys(start) + _keys(end)
    order = np.argsort(keys, kind="stable")  # of equal keys the first in painting order comes first
    found = order[np.minimum(np.searchsorted(keys[order], wanted), len(keys) - 1)]
    a, b = chords.start[found], chords.end[found]
    forward = ((a == start) & (b == end)).all(axis=1)
    backward = ((a == end) & (b == start)).all(axis=1)
    return np.where(forward | backward, found, -1), backward


def _keys(points: Floats) -> NDArray[np.uint64]:
    """A number for each point, equal for equal points and hardly ever for others."""
    bits = np.ascontiguousarray(points + 0.0).view(np.uint64)  # adding 0 makes −0 and 0 the same
    mixed = bits[:, 0] * _MIX[0] ^ (bits[:, 1] * _MIX[1] >> np.uint64(7))
    mixed ^= mixed >> np.uint64(29)
    return np.asarray(mixed * _MIX[2])


def _parameter(points: Floats, chord: NDArray[np.int64], chords: _Chords) -> Floats:
    """The curve parameter of a point by where it falls along its chord."""
    start, along = chords.start[chord], chords.end[chord] - chords.start[chord]
    share = ((points - start) * along).sum(axis=1) / np.maximum((along * along).sum(axis=1), 1e-300)
    t0, t1 = chords.t0[chord], chords.t1[chord]
    return np.asarray(t0 + np.clip(share, 0.0, 1.0) * (t1 - t0))


def _contours(edges: _Edges, beziers: Floats) -> list[Contour]:
    """Runs of edges on one curve become one stretch of it."""
    forward = edges.t1 >= edges.t0
    before = edges.before
    starts_run = ~(
        (edges.segment == edges.segment[before])
        & (forward == forward[before])
        & (np.abs(edges.t0 - edges.t1[before]) < _JOIN)
    )
    rings = np.arange(edges.ring[-1] + 1)
    firsts = np.searchsorted(edges.ring, rings)
    unbroken = np.add.reduceat(starts_run.astype(np.int64), firsts) == 0  # one closed stretch of one segment
    starts_run[firsts[unbroken]] = True
    starts = np.flatnonzero(starts_run)
    ring = edges.ring[starts]
    counts = np.bincount(ring, minlength=len(rings))
    following = np.arange(1, len(starts) + 1)
    ends_of_ring = np.cumsum(counts)
    following[ends_of_ring - 1] = ends_of_ring - counts
    lasts = before[starts[following]]
    knots, ends = edges.start[starts], edges.start[starts[following]]
    a, b, c, d = stretches(beziers[edges.segment[starts]], edges.t0[starts], edges.t1[lasts])
    # the cut's place is as rough as the flattening: each control point moves with its end
    controls = np.stack([b + (knots - a), c + (ends - d)], axis=1)
    parts = zip(np.split(knots, ends_of_ring[:-1]), np.split(controls, ends_of_ring[:-1]), strict=True)
    return [Contour(own, handles) for own, handles in parts]
