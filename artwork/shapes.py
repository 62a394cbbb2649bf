"""Shapely's vectorised constructors with plain types."""

from __future__ import annotations

from typing import Any, cast

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LinearRing, LineString, MultiLineString, MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from artwork.curves import Floats

Ints = NDArray[np.int64]


def ring_shapes(points: Floats, ring: Ints) -> list[LinearRing]:
    """One closed line for each ring: ``points`` (n, 2) with the number of the ring each is on."""
    return list(np.atleast_1d(cast("NDArray[Any]", shapely.linearrings(points, indices=ring))))


def filled(rings: list[LinearRing] | Floats) -> list[Polygon]:
    """What each ring surrounds: rings as such, or as points of shape (rings, n, 2)."""
    return list(np.atleast_1d(cast("NDArray[Any]", shapely.polygons(rings))))


def strokes(lines: Floats) -> list[LineString]:
    """Each of ``lines``, shape (n, 2, 2), as a straight line of its own."""
    return list(np.atleast_1d(cast("NDArray[Any]", shapely.linestrings(lines))))


def ways(lines: Floats) -> MultiLineString:
    """Straight ways from ``lines``, shape (n, 2, 2)."""
    return cast("MultiLineString", shapely.multilinestrings(lines))


def areas(shape: shapely.Geometry) -> list[Polygon]:
    """The polygons among a shape's parts."""
    return [part for part in shapely.get_parts(shape) if isinstance(part, Polygon) and part.area > 0]


def polygonal(shape: shapely.Geometry) -> MultiPolygon:
    """The polygons among a shape's parts, as one."""
    return MultiPolygon(areas(shape))


def united(shapes: list[BaseGeometry]) -> BaseGeometry:
    """Their union; empty for none."""
    return shapely.union_all(shapes)
