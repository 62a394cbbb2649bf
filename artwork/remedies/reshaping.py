"""Changes to an outline: thicker or thinner, parts left out, outline only, background instead of art."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import shapely
from shapely import MultiLineString, MultiPolygon, Point, box

from artwork.axis import Anatomy
from artwork.curves import Contour, Floats
from artwork.findings.lands import judge_lands
from artwork.findings.lines import judge_lines
from artwork.outline import Outline
from artwork.scene import Scene
from artwork.shapes import Ints, areas, polygonal, ring_shapes, surrounded

MITRE = 2.0
"""Corners sharper than 60° are blunted where an offset would draw them out farther than this."""


MOST_DROPPED = 0.25
"""At most this share of the art's area may be left out or filled in."""


def art_of(anatomy: Anatomy) -> MultiPolygon:
    """The art as polygons in outline units."""
    rings = ring_shapes(anatomy.points, anatomy.ring)
    return polygonal(surrounded(rings))


def thickened(outline: Outline, anatomy: Anatomy, offset: float) -> Outline:
    """Every edge moved outwards by ``offset`` outline units (inwards where negative), corners kept."""
    moved = art_of(anatomy).buffer(offset, join_style="mitre", mitre_limit=MITRE)
    return outline_of(moved, outline, anatomy)


def losses(scene: Scene) -> tuple[Ints, Ints]:
    """Numbers of the pieces of art that vanish, and of the enclosed pieces of land that break out."""
    lines, lands = judge_lines(scene), judge_lands(scene)
    return np.append(lines.vanishing, lines.flecks), np.append(lands.broken, lands.flecks)


def without(outline: Outline, anatomy: Anatomy, parts: Ints, islands: Ints) -> Outline | None:
    """The outline less the chosen pieces of art, and with the chosen islands of wood carved as well.

    What stays keeps its curves. ``None`` where nothing would change, or so much that it were other art.
    """
    gone = np.isin(anatomy.ring_piece, parts) | np.isin(anatomy.ring_land, islands)
    rings = ring_shapes(anatomy.points, anatomy.ring)
    changed = sum(shapely.Polygon(ring).area for ring, drop in zip(rings, gone, strict=True) if drop)
    if not gone.any() or changed > MOST_DROPPED * art_of(anatomy).area:
        return None
    chosen = MultiLineString([ring for ring, drop in zip(rings, gone, strict=True) if drop])
    near = 2 * anatomy.error + 1e-9 * max(anatomy.size)
    kept = tuple(each for each in outline.contours if chosen.distance(Point(each.knots[0])) > near)
    return replace(outline, contours=kept) if kept else None


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
    for part in areas(shapely.orient_polygons(tidy)):
        contours += [_straight(ring) for ring in (part.exterior, *part.interiors)]
    return replace(like, contours=tuple(contours), stated_mm=None)


def _straight(ring: shapely.LinearRing) -> Contour:
    points: Floats = np.asarray(ring.coords)[:-1]
    return Contour(points, np.full((len(points), 2, 2), np.nan))
