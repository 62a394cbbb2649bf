"""Regions of painted areas by polygons: the check on curve arithmetic, and what stands in where that fails.

Everything is flattened first, so the answer is as exact as the tolerance; GEOS then never fails on it.
"""

from __future__ import annotations

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from artwork.curves import Floats
from artwork.intake.marks import Area, Rule
from artwork.outline import polygons

_PAIRS = 100_000
"""Face–edge pairs treated at once when winding numbers are counted."""


def region_of(area: Area, tolerance: float) -> BaseGeometry:
    """What one area surrounds, by its own rule."""
    rings = [contour.polyline(tolerance) for contour in area.path.contours()]
    rings = [ring for ring in rings if len(ring) >= 3]
    if not rings:
        return shapely.Polygon()
    lines = shapely.MultiLineString([np.vstack([ring, ring[:1]]) for ring in rings])
    if area.rule == "evenodd" and shapely.is_simple(lines):
        return polygons(rings)
    faces = shapely.get_parts(shapely.polygonize([shapely.unary_union(lines)]))
    inside = _wound(faces, rings, area.rule)
    return shapely.union_all(faces[inside])


def _wound(faces: np.ndarray, rings: list[Floats], rule: Rule) -> np.ndarray:
    """Which faces the rings wind around: a ray to the right from a point inside each is followed."""
    points = shapely.get_coordinates(shapely.point_on_surface(faces))
    start = np.vstack(rings)
    end = np.vstack([np.roll(ring, -1, axis=0) for ring in rings])
    winding = np.zeros(len(points), np.int64)
    for at in range(0, len(points), max(1, _PAIRS * 10 // max(len(start), 1))):
        some = slice(at, at + max(1, _PAIRS * 10 // max(len(start), 1)))
        x, y = points[some, 0][:, None], points[some, 1][:, None]
        up = (start[:, 1] <= y) & (end[:, 1] > y)
        down = (start[:, 1] > y) & (end[:, 1] <= y)
        side = (end[:, 0] - start[:, 0]) * (y - start[:, 1]) - (x - start[:, 0]) * (end[:, 1] - start[:, 1])
        winding[some] = (up & (side > 0)).sum(axis=1) - (down & (side < 0)).sum(axis=1)
    return np.asarray(winding % 2 == 1 if rule == "evenodd" else winding != 0)


def painted(marks: list[tuple[BaseGeometry, bool]]) -> BaseGeometry:
    """What is left carved after regions are laid down in order, each carving (True) or knocking out."""
    left: BaseGeometry = shapely.Polygon()
    run: list[BaseGeometry] = []
    for at, (region, carves) in enumerate(marks):
        run.append(region)
        if at + 1 < len(marks) and marks[at + 1][1] == carves:
            continue
        left = shapely.union_all([left, *run]) if carves else shapely.difference(left, shapely.union_all(run))
        run = []
    return left
