"""Regions of painted areas, by polygons.

GEOS cuts polygons robustly, whatever they do; :mod:`artwork.intake.recurving` then puts the curves back.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from artwork.curves import Contour, Floats, sampled
from artwork.intake.marks import Rule

_PAIRS = 2_000_000
"""Pairs of a face and an edge to its right looked at together when windings are counted."""


def region_of(contours: Sequence[Contour], rule: Rule, tolerance: float) -> BaseGeometry:
    """What the contours surround by the rule."""
    if not contours:
        return shapely.Polygon()
    samples = sampled(contours, tolerance)
    lengths = np.diff(samples.starts)
    usable = lengths >= 3
    if not usable.any():
        return shapely.Polygon()
    chosen = np.repeat(usable, lengths)
    points, lengths = samples.points[chosen], lengths[usable]
    rings = closed_rings(points, lengths)
    if len(rings) == 1 and shapely.is_simple(rings[0]):
        return shapely.Polygon(rings[0])
    starts = np.cumsum(lengths) - lengths
    following = np.arange(1, len(points) + 1)
    following[starts + lengths - 1] = starts
    faces = shapely.get_parts(shapely.polygonize([shapely.unary_union(shapely.multilinestrings(rings))]))
    windings = _windings(faces, points, points[following])
    inside = windings % 2 == 1 if rule == "evenodd" else windings != 0
    return shapely.union_all(faces[inside])


def closed_rings(points: Floats, lengths: NDArray[np.int64]) -> NDArray[Any]:
    """Rings of consecutive points, as many for each as ``lengths`` says."""
    index = np.repeat(np.arange(len(lengths)), lengths)
    return np.asarray(shapely.linearrings(points, indices=index)).reshape(-1)


def _windings(faces: np.ndarray, start: np.ndarray, end: np.ndarray) -> np.ndarray:
    """How often the edges wind around each face: those that a ray to the right crosses, up less down."""
    windings = np.zeros(len(faces), np.int64)
    if not len(faces):
        return windings
    points = shapely.get_coordinates(shapely.point_on_surface(faces))
    order = np.argsort(points[:, 1])
    low, high = np.minimum(start[:, 1], end[:, 1]), np.maximum(start[:, 1], end[:, 1])
    heights = points[order, 1]
    # an edge is met by the rays of the faces from ``first`` up to ``last`` in order of height
    first, last = np.searchsorted(heights, low, "left"), np.searchsorted(heights, high, "left")
    sign = np.where(end[:, 1] > start[:, 1], 1, -1)
    counts = last - first
    blocks = np.searchsorted(np.cumsum(counts), np.arange(0, counts.sum() + _PAIRS, _PAIRS))
    for begin, stop in zip(blocks[:-1].tolist(), [*blocks[1:-1].tolist(), len(counts)], strict=True):
        some = counts[begin:stop]
        edge = np.repeat(np.arange(begin, stop), some)
        face = order[np.arange(len(edge)) - np.repeat(np.cumsum(some) - some, some) + first[edge]]
        a, b, p = start[edge], end[edge], points[face]
        side = (b[:, 0] - a[:, 0]) * (p[:, 1] - a[:, 1]) - (p[:, 0] - a[:, 0]) * (b[:, 1] - a[:, 1])
        crossed = side * sign[edge] > 0
        np.add.at(windings, face[crossed], sign[edge[crossed]])
    return windings


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
