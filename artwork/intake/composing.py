"""Painted areas → the contours of what is carved, on curves.

Three ways, the first that serves:

1. Edges that never meet keep their own curves (:mod:`artwork.intake.nesting`).
2. Edges that meet are cut by skia's path operations. They work in single precision and now and then fail on
   edges that nearly coincide, so the answer is compared with polygons, and tried again at another scale.
3. The polygons themselves, counted as ``flattened`` in the report.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import pathops
import shapely
from shapely.geometry.base import BaseGeometry

from artwork.curves import Contour
from artwork.intake.flat import painted, region_of
from artwork.intake.marks import Area, Mark
from artwork.intake.nesting import Edge, nested
from artwork.intake.paths import Path, from_skia
from artwork.outline import Outline

MEETING = 2e-5
"""Flattening for telling whether edges meet, as a share of the drawing's larger side."""
CHECKING = 1e-4
"""The same for the check by polygons; areas thinner than four times this may differ."""
SCALES = (2.0**14, 2.0**12, 2.0**16)
"""Sizes, in skia's units, at which the drawing is cut; single precision leaves 2⁻²⁴ of them."""

_FILL = {"nonzero": pathops.FillType.WINDING, "evenodd": pathops.FillType.EVEN_ODD}


@dataclass(frozen=True, eq=False)
class Composition:
    """The contours, and how they were come by: ``"kept"``, ``"cut"`` or ``"flattened"``."""

    contours: tuple[Contour, ...]
    way: str


@dataclass(frozen=True, eq=False)
class _Piece:
    """A mark that either carves or knocks out."""

    area: Area
    carves: bool
    clips: tuple[tuple[Area, ...], ...]


def compose(marks: list[Mark], carved: list[bool]) -> Composition:
    """What is carved after all marks are painted in order; ``carved`` says of each whether it carves."""
    pieces = _relevant(marks, carved)
    if not pieces:
        return Composition((), "kept")
    boxes = np.array([piece.area.path.box for piece in pieces])
    low, high = boxes[:, :2].min(axis=0), boxes[:, 2:].max(axis=0)
    side = float((high - low).max())
    if side <= 0:
        return Composition((), "kept")
    if not any(piece.clips for piece in pieces):
        kept = nested(list(_edges(pieces)), MEETING * side)
        if kept is not None:
            return Composition(tuple(kept), "kept")
    return _cut(pieces, tuple((-low).tolist()), side)


def _relevant(marks: list[Mark], carved: list[bool]) -> list[_Piece]:
    """Marks before the first that carves change nothing; clips that hide nothing are dropped."""
    if True not in carved:
        return []
    first = carved.index(True)
    pieces = []
    for mark, carves in zip(marks[first:], carved[first:], strict=True):
        if mark.area.path.empty:
            continue
        clips = tuple(clip for clip in mark.clips if not _hides_nothing(clip, mark.area.path))
        pieces.append(_Piece(mark.area, carves, clips))
    return pieces


def _hides_nothing(clip: tuple[Area, ...], path: Path) -> bool:
    """Whether a clip is one upright rectangle around all of the path."""
    if len(clip) != 1 or len(clip[0].path.points) not in (4, 5):
        return False
    points = clip[0].path.points
    left, low, right, high = clip[0].path.box
    corners = {(left, low), (right, low), (right, high), (left, high)}
    if {(x, y) for x, y in points.tolist()} != corners or not clip[0].path.contours():
        return False
    a, b, c, d = path.box
    return left <= a and low <= b and c <= right and d <= high


def _edges(pieces: list[_Piece]) -> Iterator[Edge]:
    for at, piece in enumerate(pieces):
        for contour in piece.area.path.contours():
            yield Edge(contour, at, piece.area.rule, piece.carves)


def _cut(pieces: list[_Piece], shift: tuple[float, float], side: float) -> Composition:
    wanted = painted([(_flat(piece, CHECKING * side), piece.carves) for piece in pieces])
    for scale in SCALES:
        try:
            skia = _by_skia(pieces, shift, scale / side)
        except pathops.PathOpsError:
            continue
        contours = tuple(from_skia(skia, scale / side, shift).contours())
        if _agrees(contours, wanted, CHECKING * side):
            return Composition(contours, "cut")
    return Composition(_straight(wanted), "flattened")


def _flat(piece: _Piece, tolerance: float) -> BaseGeometry:
    region = region_of(piece.area, tolerance)
    for clip in piece.clips:
        region = shapely.intersection(
            region, shapely.union_all([region_of(area, tolerance) for area in clip])
        )
    return region


def _by_skia(pieces: list[_Piece], shift: tuple[float, float], scale: float) -> pathops.Path:
    """The same by skia, one operation for each run of marks that carve or knock out."""
    left = pathops.Path()
    run: list[pathops.Path] = []
    for at, piece in enumerate(pieces):
        run.append(_simple(piece, shift, scale))
        if at + 1 < len(pieces) and pieces[at + 1].carves == piece.carves:
            continue
        if piece.carves:
            left = _union([left, *run])
        else:
            left = pathops.op(left, _union(run), pathops.PathOp.DIFFERENCE, fix_winding=True)
        run = []
    return left


def _simple(piece: _Piece, shift: tuple[float, float], scale: float) -> pathops.Path:
    """One mark's area with a winding number of 1 inside and 0 outside."""
    path = _simplified(piece.area, shift, scale)
    for clip in piece.clips:
        inside = _union([_simplified(area, shift, scale) for area in clip])
        path = pathops.op(path, inside, pathops.PathOp.INTERSECTION, fix_winding=True)
    return path


def _simplified(area: Area, shift: tuple[float, float], scale: float) -> pathops.Path:
    path = area.path.to_skia(scale, shift)
    path.fillType = _FILL[area.rule]
    path.simplify(fix_winding=True)
    return path


def _union(paths: list[pathops.Path]) -> pathops.Path:
    """Simplified paths wind once around what they cover, so together they wind around their union."""
    together = pathops.Path()
    for path in paths:
        together.addPath(path)
    together.simplify(fix_winding=True)
    return together


def _agrees(contours: tuple[Contour, ...], wanted: BaseGeometry, tolerance: float) -> bool:
    """Whether the two differ by slivers of flattening only."""
    if not contours:
        return bool(shapely.buffer(wanted, -2 * tolerance).is_empty)
    got = Outline(contours).region(tolerance)
    differing = shapely.symmetric_difference(got, wanted)
    return bool(shapely.buffer(differing, -2 * tolerance, quad_segs=1).is_empty)


def _straight(region: BaseGeometry) -> tuple[Contour, ...]:
    """Polygons as contours of straight segments."""
    polygons = [part for part in shapely.get_parts(region) if part.geom_type == "Polygon"]
    rings = []
    for polygon in map(shapely.orient_polygons, polygons):
        rings += [polygon.exterior, *polygon.interiors]
    knots = [np.array(ring.coords)[:-1] for ring in rings]
    return tuple(Contour(each, np.full((len(each), 2, 2), np.nan)) for each in knots)
