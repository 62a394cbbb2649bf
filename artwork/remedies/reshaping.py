"""Changes to an outline: thicker or thinner, parts left out, outline only, background instead of art."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import shapely
from shapely import MultiPolygon, Polygon, box

from artwork.axis import Anatomy
from artwork.curves import Contour, Floats
from artwork.outline import Outline

MITRE = 2.0
"""Corners sharper than 60° are blunted where an offset would draw them out farther than this."""


def art_of(anatomy: Anatomy) -> MultiPolygon:
    """The art as polygons in outline units."""
    loops = shapely.linearrings(anatomy.points, indices=anatomy.ring)
    area = shapely.build_area(shapely.multilinestrings(loops))  # type: ignore[arg-type]
    return MultiPolygon([part for part in shapely.get_parts(area) if isinstance(part, Polygon)])


def thickened(outline: Outline, anatomy: Anatomy, offset: float) -> Outline:
    """Every edge moved outwards by ``offset`` outline units (inwards where negative), corners kept."""
    moved = art_of(anatomy).buffer(offset, join_style="mitre", mitre_limit=MITRE)
    return outline_of(moved, outline, anatomy)


def without_parts(outline: Outline, anatomy: Anatomy, pieces: list[int]) -> Outline:
    """The outline less the chosen pieces of art, its curves untouched."""
    rings = np.flatnonzero(np.isin(anatomy.ring_piece, pieces))
    chosen = shapely.union_all(
        [shapely.LinearRing(anatomy.points[anatomy.ring == ring]) for ring in rings.tolist()]
    )
    starts = shapely.points(np.array([contour.knots[0] for contour in outline.contours]))
    gone = shapely.distance(chosen, starts) <= 2 * anatomy.error + 1e-9 * max(anatomy.size)
    kept = tuple(contour for contour, drop in zip(outline.contours, gone, strict=True) if not drop)
    return replace(outline, contours=kept)


def outline_only(outline: Outline, anatomy: Anatomy, width: float) -> Outline:
    """A line of ``width`` outline units along the inside of every edge."""
    art = art_of(anatomy)
    inner = art.buffer(-width, join_style="mitre", mitre_limit=MITRE)
    return outline_of(art.difference(inner), outline, anatomy)


def background(outline: Outline, anatomy: Anatomy, margin: float) -> Outline:
    """A rectangle around the art, carved, with the art left standing."""
    art = art_of(anatomy)
    left, low, right, high = art.bounds
    panel = box(left - margin, low - margin, right + margin, high + margin)
    return outline_of(panel.difference(art), outline, anatomy)


def outline_of(area: shapely.Geometry, like: Outline, anatomy: Anatomy) -> Outline:
    """Polygons as an outline of straight segments, points that change nothing left out."""
    tidy = shapely.simplify(area, anatomy.error / 4) if anatomy.error > 0 else area
    contours: list[Contour] = []
    for part in shapely.get_parts(tidy):
        if isinstance(part, Polygon) and part.area > 0:
            whole = shapely.orient_polygons(part)
            contours += [_straight(ring) for ring in (whole.exterior, *whole.interiors)]
    return replace(like, contours=tuple(contours), stated_mm=None)


def _straight(ring: shapely.LinearRing) -> Contour:
    points: Floats = np.asarray(ring.coords)[:-1]
    return Contour(points, np.full((len(points), 2, 2), np.nan))
