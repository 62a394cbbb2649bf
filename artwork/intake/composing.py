"""Painted areas → the contours of what is carved, on the drawing's own curves.

Edges that never meet keep their curves untouched (:mod:`artwork.intake.nesting`). Edges that meet are cut as
fine polygons (:mod:`artwork.intake.flat`), and the curves put back (:mod:`artwork.intake.recurving`).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import islice

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from artwork.curves import Contour
from artwork.intake.compacting import compacted
from artwork.intake.flat import painted, regions_of
from artwork.intake.marks import Area, Mark
from artwork.intake.nesting import Edge, nested
from artwork.intake.paths import Path, contours_of
from artwork.intake.recurving import recurved

FLATNESS = 2e-5
"""Flattening for cutting, as a share of the drawing's larger side: 0.01 mm on 500 mm."""


@dataclass(frozen=True, eq=False)
class _Piece:
    """A mark that either carves or knocks out."""

    contours: list[Contour]
    mark: Mark
    carves: bool
    clips: tuple[tuple[Area, ...], ...]


def compose(marks: list[Mark], carved: list[bool]) -> tuple[Contour, ...]:
    """What is carved after all marks are painted in order; ``carved`` says of each whether it carves."""
    pieces = _compacted(_relevant(marks, carved))
    if not pieces:
        return ()
    boxes = np.array([piece.mark.area.path.box for piece in pieces])
    side = float((boxes[:, 2:].max(axis=0) - boxes[:, :2].min(axis=0)).max())
    if side <= 0:
        return ()
    tolerance = FLATNESS * side
    if not any(piece.clips for piece in pieces):
        kept = nested(_edges(pieces), tolerance)
        if kept is not None:
            return tuple(kept)
    regions = _clipped(pieces, tolerance)
    region = painted([(region, piece.carves) for region, piece in zip(regions, pieces, strict=True)])
    sources = [contour for piece in pieces for contour in piece.contours]
    clips = {id(clip): clip for piece in pieces for clip in piece.clips}
    sources += [c for clip in clips.values() for area in clip for c in area.path.contours()]
    return tuple(recurved(region, sources, tolerance))


def _relevant(marks: list[Mark], carved: list[bool]) -> list[_Piece]:
    """Marks before the first that carves change nothing; clips that hide nothing are dropped."""
    if True not in carved:
        return []
    first = carved.index(True)
    pieces = []
    found = contours_of([mark.area.path for mark in marks[first:]])
    for mark, contours, carves in zip(marks[first:], found, carved[first:], strict=True):
        if contours:
            clips = tuple(clip for clip in mark.clips if not hides_nothing(clip, mark.area.path))
            pieces.append(_Piece(contours, mark, carves, clips))
    return pieces


def _compacted(pieces: list[_Piece]) -> list[_Piece]:
    """Strokes with fewer, longer curves; all at once, since a round of it costs the same for any number."""
    rough = [piece for piece in pieces if piece.mark.area.rough > 0]
    contours = [contour for piece in rough for contour in piece.contours]
    tolerances = [piece.mark.area.rough for piece in rough for _ in piece.contours]
    fewer = iter(compacted(contours, tolerances))
    return [
        replace(piece, contours=list(islice(fewer, len(piece.contours))))
        if piece.mark.area.rough > 0
        else piece
        for piece in pieces
    ]


def hides_nothing(clip: tuple[Area, ...], path: Path) -> bool:
    """Whether a clip is one upright rectangle around all of the path."""
    if len(clip) != 1 or len(clip[0].path.points) not in (4, 5):
        return False
    left, low, right, high = clip[0].path.box
    corners = {(left, low), (right, low), (right, high), (left, high)}
    if {(x, y) for x, y in clip[0].path.points.tolist()} != corners:
        return False
    return any(
        left <= a and low <= b and c <= right and d <= high for a, b, c, d in (path.box, path.curve_box)
    )


def _edges(pieces: list[_Piece]) -> list[Edge]:
    return [
        Edge(contour, at, piece.mark.area.rule, piece.carves)
        for at, piece in enumerate(pieces)
        for contour in piece.contours
    ]


def _clipped(pieces: list[_Piece], tolerance: float) -> list[BaseGeometry]:
    """Each piece's region within its clips. A clip shared by many is worked out once."""
    regions = regions_of([(piece.contours, piece.mark.area.rule) for piece in pieces], tolerance)
    known: dict[int, BaseGeometry] = {}
    for at, piece in enumerate(pieces):
        for clip in piece.clips:
            if id(clip) not in known:
                shapes = [(area.path.contours(), area.rule) for area in clip]
                known[id(clip)] = shapely.union_all(regions_of(shapes, tolerance))
            regions[at] = shapely.intersection(regions[at], known[id(clip)])
    return regions
