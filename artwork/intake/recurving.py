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
    """Edges of one polygon ring and where on the sources they lie."""

    points: Floats
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
    located = _located(rings, chords)
    beziers = np.concatenate([contour.beziers for contour in sources])
    return [_contour(edges, beziers) for edges in located]


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


def _located(rings: list[Floats], chords: _Chords) -> list[_Edges]:
    """The chord under each edge: the one nearest its middle."""
    start = np.concatenate(rings)
    end = np.concatenate([np.roll(ring, -1, axis=0) for ring in rings])
    known = _known(start, end, chords)
    unknown = np.flatnonzero(known < 0)
    if len(unknown):
        lines = np.asarray(shapely.linestrings(np.stack([chords.start, chords.end], axis=1)))
        middles = shapely.points((start[unknown] + end[unknown]) / 2)
        which, nearest = shapely.STRtree(lines).query_nearest(middles)
        # several may be equally near; the first in painting order, the same along a shared edge
        first = np.full(len(unknown), np.iinfo(np.int64).max)
        np.minimum.at(first, which, nearest)
        known[unknown] = first
    t0 = _parameter(start, known, chords)
    t1 = _parameter(end, known, chords)
    segment = chords.segment[known]
    cuts = np.cumsum([len(ring) for ring in rings])[:-1]
    parts = (np.split(each, cuts) for each in (segment, t0, t1))
    return [_Edges(ring, *each) for ring, *each in zip(rings, *parts, strict=True)]


def _known(start: Floats, end: Floats, chords: _Chords) -> NDArray[np.int64]:
    """Edges that are whole chords, found by their end points being the very same numbers; −1 for others."""
    keys: dict[tuple[bytes, bytes], int] = {}
    a, b = _bytes(chords.start), _bytes(chords.end)
    for at in range(len(a) - 1, -1, -1):  # the first in painting order wins
        keys[a[at], b[at]] = at
        keys[b[at], a[at]] = at
    pairs = zip(_bytes(start), _bytes(end), strict=True)
    return np.array([keys.get(pair, -1) for pair in pairs], np.int64)


def _bytes(points: Floats) -> list[bytes]:
    return np.ascontiguousarray(points + 0.0).view("V16").ravel().tolist()


def _parameter(points: Floats, chord: NDArray[np.int64], chords: _Chords) -> Floats:
    """The curve parameter of a point by where it falls along its chord."""
    start, along = chords.start[chord], chords.end[chord] - chords.start[chord]
    share = ((points - start) * along).sum(axis=1) / np.maximum((along * along).sum(axis=1), 1e-300)
    t0, t1 = chords.t0[chord], chords.t1[chord]
    return np.asarray(t0 + np.clip(share, 0.0, 1.0) * (t1 - t0))


def _contour(edges: _Edges, beziers: Floats) -> Contour:
    forward = edges.t1 >= edges.t0
    joins = (
        (edges.segment == np.roll(edges.segment, 1))
        & (forward == np.roll(forward, 1))
        & (np.abs(edges.t0 - np.roll(edges.t1, 1)) < _JOIN)
    )
    starts = np.flatnonzero(~joins)
    if not len(starts):  # the whole ring is one closed stretch of one segment
        starts = np.array([0])
    lasts = np.roll(starts, -1) - 1  # −1 wraps to the ring's last edge
    knots = edges.points[starts]
    ends = np.roll(knots, -1, axis=0)
    a, b, c, d = stretches(beziers[edges.segment[starts]], edges.t0[starts], edges.t1[lasts])
    # the cut's place is as rough as the flattening: each control point moves with its end
    return Contour(knots, np.stack([b + (knots - a), c + (ends - d)], axis=1))
