"""Shapely's vectorised constructors with plain types."""

from __future__ import annotations

from collections.abc import Sequence
from math import isclose
from typing import Any, cast

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LinearRing, LineString, MultiLineString, MultiPolygon, Polygon
from shapely.errors import GEOSException
from shapely.geometry.base import BaseGeometry

from artwork.curves import Floats

Ints = NDArray[np.int64]

_SAME_AREA = 1e-9
"""By which share two ways to an area may differ by rounding."""


def ring_shapes(points: Floats, ring: Ints) -> list[LinearRing]:
    """One closed line for each ring: ``points`` (n, 2) with the number of the ring each is on."""
    return list(np.atleast_1d(cast("NDArray[Any]", shapely.linearrings(points, indices=ring))))


def next_on_ring(lengths: Ints) -> Ints:
    """For rings laid end to end, of so many points each: the index of each point's successor on its ring."""
    following = np.arange(1, lengths.sum() + 1)
    ends = np.cumsum(lengths)
    following[ends - 1] = ends - lengths
    return following


def beside_on_ring(lengths: Ints) -> tuple[Ints, Ints]:
    """As :func:`next_on_ring`: the index of each point's predecessor, and of its successor."""
    after = next_on_ring(lengths)
    before = np.empty_like(after)
    before[after] = np.arange(len(after))
    return before, after


def filled(rings: list[LinearRing] | Floats) -> list[Polygon]:
    """What each ring surrounds: rings as such, or as points of shape (rings, n, 2)."""
    return list(np.atleast_1d(cast("NDArray[Any]", shapely.polygons(rings))))


def convex_hull(points: Floats) -> BaseGeometry:
    """Of points of shape (n, 2), at least two: as one line, since points one by one take four times as long."""
    return shapely.LineString(points).convex_hull


def strokes(lines: Floats) -> list[LineString]:
    """Each of ``lines``, shape (n, 2, 2), as a straight line of its own."""
    return list(np.atleast_1d(cast("NDArray[Any]", shapely.linestrings(lines))))


def ways(lines: Floats) -> MultiLineString:
    """Straight ways from ``lines``, shape (n, 2, 2)."""
    return cast("MultiLineString", shapely.multilinestrings(lines))


def surrounded(rings: Sequence[LinearRing]) -> Polygon | MultiPolygon:
    """Valid polygons of what an odd number of rings surrounds, whether or not the rings touch each other.

    Quick where outer rings run one way round and holes the other, and few touch.
    """
    area = abs(sum(_signed_area(ring) for ring in rings))
    try:
        region = shapely.build_area(shapely.multilinestrings(list(rings)))
        if region.is_valid and isclose(region.area, area, rel_tol=_SAME_AREA, abs_tol=0.0):
            return cast("Polygon | MultiPolygon", region)
    except GEOSException:
        pass
    # Where rings touch at points GEOS gives up, or leaves parts out and says nothing.
    parts = areas(_by_parity(list(rings)))
    return parts[0] if len(parts) == 1 else MultiPolygon(parts)


def _signed_area(ring: LinearRing) -> float:
    area = Polygon(ring).area
    return area if shapely.is_ccw(ring) else -area


def _by_parity(rings: list[LinearRing]) -> BaseGeometry:
    """Ring by ring: what each surrounds, less what lies in both, two by two. Slow, and never gives up."""
    each: NDArray[Any] = np.asarray(shapely.make_valid(np.asarray(filled(rings))))
    while len(each) > 1:
        odd = each[2 * (len(each) // 2) :]
        each = np.concatenate([shapely.symmetric_difference(each[:-1:2], each[1::2]), odd])
    return cast("BaseGeometry", each[0]) if len(each) else Polygon()


def areas(shape: shapely.Geometry) -> list[Polygon]:
    """The polygons among a shape's parts."""
    return [part for part in shapely.get_parts(shape) if isinstance(part, Polygon) and part.area > 0]


def polygonal(shape: shapely.Geometry) -> MultiPolygon:
    """The polygons among a shape's parts, as one."""
    return MultiPolygon(areas(shape))


def united(shapes: list[BaseGeometry]) -> BaseGeometry:
    """Their union; empty for none. Of an edge that crosses itself (chords of a tight bend may) its loops count."""
    sound: NDArray[Any] = np.array(shapes, object)
    crossed = ~shapely.is_valid(sound)
    sound[crossed] = shapely.make_valid(sound[crossed])
    return shapely.union_all(sound)
