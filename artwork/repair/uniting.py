"""Outlines mended after a move, and cut or filled in places, with the curves that are not touched kept.

Skia's path operations keep lines and cubics (single precision: 0.00003 mm on art of 300 mm).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np
import pathops
import shapely
from scipy.spatial import cKDTree
from shapely.geometry.base import BaseGeometry

from artwork.curves import Contour, Floats, areas_of
from artwork.lettering.letterforms import contours_of, path_of
from artwork.repair.net import Ints
from artwork.shapes import areas

SAME = 1e-3
"""Points nearer than this, mm, are the same one before and after an operation."""
SPECK = 0.15
"""Regions smaller than this, mm², that a union has left are its own litter."""
SPUR, LEAST_KNOTS = 1.0, 3
"""Ways out and back shorter than this, mm, are such litter as well; no contour is left with fewer knots."""
NUDGES = (0.0, 0.004, 0.011, 0.023)
"""Where the library fails on edges that all but touch, the shape is tried this much wider, mm."""


class UnionError(Exception):
    """The library found no way to unite or subtract."""


def mended(contours: Sequence[Contour]) -> tuple[Contour, ...] | None:
    """What the contours surround by the non-zero rule, as contours that do not cross; ``None`` where the
    library fails on them."""
    path = path_of(contours)
    try:
        path.simplify(fix_winding=True, clockwise=False)
    except pathops.PathOpsError:
        return None
    return without_specks(contours_of(path))


def joined(contours: Sequence[Contour], shape: BaseGeometry) -> tuple[Contour, ...]:
    """The contours together with a shape. UnionError."""
    return _operated(contours, shape, pathops.PathOp.UNION)


def less(contours: Sequence[Contour], shape: BaseGeometry) -> tuple[Contour, ...]:
    """The contours without a shape. UnionError."""
    return _operated(contours, shape, pathops.PathOp.DIFFERENCE)


def _operated(
    contours: Sequence[Contour], shape: BaseGeometry, operator: pathops.PathOp
) -> tuple[Contour, ...]:
    if shape.is_empty:
        return tuple(contours)
    for wider in NUDGES:
        other = path_of(_rings(shape.buffer(wider, join_style="mitre") if wider else shape))
        try:
            path = pathops.op(path_of(contours), other, operator, fix_winding=True, clockwise=False)
        except pathops.PathOpsError:
            continue
        return without_specks(contours_of(path))
    raise UnionError


def _rings(shape: BaseGeometry) -> Iterable[Contour]:
    for part in areas(shapely.orient_polygons(shape)):
        for ring in (part.exterior, *part.interiors):
            points: Floats = np.asarray(ring.coords)[:-1]
            yield Contour(points, np.full((len(points), 2, 2), np.nan))


def _without_spurs(contour: Contour) -> Contour:
    """The contour without ways of two or three segments that lead out of a knot and back into it by a hair.

    They are what an operation leaves of corners whose curves cross just beside their joint.
    """
    for steps in (2, 3):
        count = len(contour.knots)
        there = np.roll(contour.knots, -steps, axis=0)
        for number in np.flatnonzero(np.hypot(*(there - contour.knots).T) < SAME).tolist():
            way = (number + np.arange(steps + 1)) % count
            loop = contour.knots[way]
            long = np.hypot(*np.diff(loop, axis=0).T).sum()
            if count - steps >= LEAST_KNOTS and long < SPUR:
                left = np.setdiff1d(np.arange(count), way[:-1])
                return _without_spurs(Contour(contour.knots[left], contour.controls[left]))
    return contour


def without_specks(contours: Iterable[Contour]) -> tuple[Contour, ...]:
    """The contours less those that are the litter of an operation, and without their spurs."""
    found = tuple(map(_without_spurs, contours))
    if not found:
        return ()
    size = np.abs(areas_of(found))
    return tuple(contour for contour, area in zip(found, size, strict=True) if area >= SPECK)


def followed(
    contours: Sequence[Contour], before: Sequence[Contour], drawn: Sequence[Contour]
) -> tuple[Contour, ...]:
    """Where the points of contours were drawn, after an operation on the contours ``before``.

    A knot that was one before has that one's origin, a control point that of the segment whose knot it goes with;
    what is new has shifted as the known knots before and after it have.
    """
    if not before:
        return tuple(contours)
    knots = np.concatenate([each.knots for each in before])
    shift = knots - np.concatenate([each.knots for each in drawn])
    near = cKDTree(knots)
    found = []
    for each in contours:
        distance, at = (np.atleast_1d(column) for column in near.query(each.knots))
        known = np.flatnonzero(distance < SAME)
        own = _between(known, shift[at[known]], len(each.knots))
        ahead = np.roll(own, -1, axis=0)
        moves = np.stack([own, ahead], axis=1)
        found.append(Contour(each.knots - own, each.controls - moves))
    return tuple(found)


def _between(known: Ints, shift: Floats, count: int) -> Floats:
    """Shape (count, 2): shifts of all knots of a ring from those of some, evenly in between; none without any."""
    if not len(known):
        return np.zeros((count, 2))
    around = np.concatenate([known - count, known, known + count])
    return np.stack(
        [np.interp(np.arange(count), around, np.tile(shift[:, axis], 3)) for axis in (0, 1)], axis=1
    )
