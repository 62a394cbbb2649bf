"""Regions of painted areas, by polygons.

GEOS cuts polygons robustly, whatever they do; :mod:`artwork.intake.recurving` then puts the curves back.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.errors import GEOSException
from shapely.geometry.base import BaseGeometry

from artwork.curves import Contour, Floats, sampled
from artwork.intake.marks import Rule

_PAIRS = 2_000_000
"""Pairs of a face and an edge to its right looked at together when windings are counted."""

Shape = tuple[Sequence[Contour], Rule]


def regions_of(shapes: Sequence[Shape], tolerance: float) -> list[BaseGeometry]:
    """What each shape's contours surround by its rule, all flattened together."""
    contours = [contour for shape, _ in shapes for contour in shape]
    if not contours:
        return [shapely.Polygon() for _ in shapes]
    samples = sampled(contours, tolerance)
    lengths = np.diff(samples.starts)
    usable = lengths >= 3
    points = samples.points[np.repeat(usable, lengths)]
    rings = np.full(len(contours), None, object)
    rings[usable] = closed_rings(points, lengths[usable])
    simple = shapely.is_simple(rings)
    regions: list[BaseGeometry] = []
    at = 0
    for shape, rule in shapes:
        own = rings[at : at + len(shape)]
        if len(shape) == 1 and simple[at]:
            regions.append(shapely.Polygon(own[0]))
        else:
            regions.append(_surrounded(own[own != None], rule))  # noqa: E711 - element by element
        at += len(shape)
    return regions


def _surrounded(rings: NDArray[Any], rule: Rule) -> BaseGeometry:
    """What rings that may cross themselves and each other surround."""
    if not len(rings):
        return shapely.Polygon()
    lines = shapely.multilinestrings(rings)
    noded = lines if shapely.is_simple(lines) else shapely.unary_union(lines)
    faces = shapely.get_parts(shapely.polygonize(np.array([noded])))
    chains = [shapely.get_coordinates(ring) for ring in rings]
    start = np.concatenate([chain[:-1] for chain in chains])
    end = np.concatenate([chain[1:] for chain in chains])
    windings = _windings(faces, start, end)
    inside = windings % 2 == 1 if rule == "evenodd" else windings != 0
    return _joined(faces[inside])


def _joined(faces: NDArray[Any]) -> BaseGeometry:
    """Faces that share edges as one region; where rounding has made some overlap, by the slower union."""
    try:
        region = shapely.coverage_union_all(faces)
    except GEOSException:
        return shapely.union_all(faces)
    return region if shapely.is_valid(region) else shapely.union_all(faces)


def closed_rings(points: Floats, lengths: NDArray[np.int64]) -> NDArray[Any]:
    """Rings of consecutive points, as many for each as ``lengths`` says."""
    index = np.repeat(np.arange(len(lengths)), lengths)
    return np.asarray(shapely.linearrings(points, indices=index)).reshape(-1)


def _windings(faces: NDArray[Any], start: Floats, end: Floats) -> NDArray[np.int64]:
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
    if not counts.any():
        return windings
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


def painted(marks: Sequence[tuple[BaseGeometry, bool]]) -> BaseGeometry:
    """What is left carved after regions are laid down in order, each carving (True) or knocking out."""
    left: BaseGeometry | None = None
    run: list[BaseGeometry] = []
    for at, (region, carves) in enumerate(marks):
        run.append(region)
        if at + 1 < len(marks) and marks[at + 1][1] == carves:
            continue
        if carves:
            left = _united(run if left is None else [left, *run])
        elif left is not None:
            left = shapely.difference(left, _united(run))
        run = []
    return shapely.Polygon() if left is None else left


def _united(regions: list[BaseGeometry]) -> BaseGeometry:
    return regions[0] if len(regions) == 1 else shapely.disjoint_subset_union_all(regions)
