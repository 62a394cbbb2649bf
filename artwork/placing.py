"""Where on a slat art may lie, and the largest size at which it fits."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely import MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from artwork import tooling
from artwork.axis.flattening import chord_tolerance
from artwork.curves import Floats, sampled
from artwork.cut import Placement
from artwork.errors import EngineError
from artwork.outline import Outline
from artwork.shapes import areas, convex_hull, filled, united
from artwork.workpiece import Allowances, Slat

ARC_SEGMENTS = 32
"""Chords per quarter circle of a margin's round."""
END_ANGLE_DEG = 45.0
"""An edge that crosses the grain at more than this is an end of the slat."""
LEAST_SIZE = 5.0
"""Art is not placed smaller than this, longer side, mm."""
HULL_SHARE = 1 / 20_000
"""Tolerance of the hull that is tried on the slat, as a share of the art's larger side."""
POSITIONS = 24
"""Places along the slat's axis, or each way over its area, at which the largest size is sought."""
PASSES = 3
"""How often the search along the axis is drawn closer around the best place."""
ROUNDS = 11
"""Halvings of the size in each pass; the last pass starts within a few percent and ends within 0.01 %."""
EQUAL = 1e-3
"""Places whose sizes differ by less than this share are as good as each other: the middle one is taken."""


def safe_area(slat: Slat, allowances: Allowances) -> Polygon | MultiPolygon:
    """Where art may lie: inside the round-over and its margin, off the ends, clear of keep-outs. Slat mm.

    Rounds are drawn outside their true circles, so nothing in the area is nearer than its margin says.
    """
    inner = slat.outline.buffer(-(tooling.edge_radius(slat) + allowances.edge_margin), quad_segs=ARC_SEGMENTS)
    taken = [_around(slat_end, allowances.end_margin) for slat_end in slat_ends(slat)]
    taken += [
        _around(keep_out.shape, allowances.keep_out_margin)
        for keep_out in slat.keep_outs
        if keep_out.free_depth == 0
    ]
    parts = areas(inner.difference(united(taken)))
    return parts[0] if len(parts) == 1 else MultiPolygon(parts)


def slat_ends(slat: Slat) -> list[shapely.LineString]:
    """The parts of the slat's edge that cross the grain."""
    corners = np.asarray(slat.outline.exterior.coords)
    along = np.diff(corners, axis=0)
    angle = np.arctan2(along[:, 1], along[:, 0]) - np.radians(slat.grain_deg)
    across = np.abs(np.sin(angle)) > np.sin(np.radians(END_ANGLE_DEG))
    lines = [shapely.LineString(corners[i : i + 2]) for i in np.flatnonzero(across)]
    merged = shapely.line_merge(shapely.MultiLineString(lines)) if lines else shapely.MultiLineString()
    return list(shapely.get_parts(merged))


def _around(shape: BaseGeometry, margin: float) -> BaseGeometry:
    """The shape grown by at least the margin everywhere."""
    return shape.buffer(margin / np.cos(np.pi / (4 * ARC_SEGMENTS)), quad_segs=ARC_SEGMENTS)


def largest_fit(
    outline: Outline, slat: Slat, allowances: Allowances, rotation_deg: float = 0.0, mirrored: bool = False
) -> Placement:
    """The largest placement inside the safe area, centred on the slat's long axis where that is possible.

    Raises:
        EngineError: ``"no-room"`` where the slat has no safe area that art of a few millimetres fits.
    """
    return fit(hull_of(outline), slat, allowances, rotation_deg, mirrored)


def largest_fit_at(outline: Outline, slat: Slat, allowances: Allowances, y: float) -> Placement | None:
    """The largest placement whose middle is on the slat's middle line at a height; ``None`` where none fits there.

    Args:
        y: the height, slat mm.
    """
    area = safe_area(slat, allowances)
    if area.is_empty:
        return None
    hull = hull_of(outline)
    shape = _Shape(hull.turned(0.0, False), hull.least)
    left, _, right, _ = slat.outline.bounds
    place = np.array([[(left + right) / 2, y]])
    best = _best(area, shape, place, place[0], (0.0, _upper_bound(area, shape)))
    found = None if best is None else _settled(area, shape, place[0], best[1])
    return None if found is None else Placement(*found, 0.0, False)


def fit(
    hull: Hull, slat: Slat, allowances: Allowances, rotation_deg: float = 0.0, mirrored: bool = False
) -> Placement:
    """:func:`largest_fit` for an outline whose hull is known: for trying many slats and turns."""
    area = safe_area(slat, allowances)
    shape = _Shape(hull.turned(rotation_deg, mirrored), hull.least)
    found = None if area.is_empty else _along_axis(area, slat, shape) or _anywhere(area, slat, shape)
    if found is None:
        raise EngineError(
            "no-room",
            f"The slat '{slat.name}' has no room for art: edges, ends, screws and their margins take it all.",
            "Choose another slat, or reduce the margins.",
        )
    x, y, scale = found
    return Placement(x, y, scale, rotation_deg, mirrored)


def mirrored_place(placement: Placement, slat: Slat, pair: Slat) -> Placement:
    """Where art that lies so on a slat lies on the one that is its mirror image: as far from the other edge."""
    left, low, _, _ = slat.outline.bounds
    _, other_low, other_right, _ = pair.outline.bounds
    x, y = other_right - (placement.x - left), placement.y - low + other_low
    return replace(placement, x=round(x, 3), y=round(y, 3))


@dataclass(frozen=True, eq=False)
class Hull:
    """The art's convex hull about the centre of its box, upright, at scale 1; never within the art.

    Attributes:
        points: shape (n, 2), outline units.
        least: smallest scale worth trying.
    """

    points: Floats
    least: float

    def turned(self, rotation_deg: float, mirrored: bool) -> Floats:
        """The corners as a placement of that turn lays them, at scale 1."""
        return Placement(0.0, 0.0, 1.0, rotation_deg, mirrored).place(self.points, np.zeros(2))


def hull_of(outline: Outline) -> Hull:
    """The hull of an outline."""
    left, low, right, high = outline.bounds
    tolerance = HULL_SHARE * max(outline.size)
    centred = sampled(outline.contours, tolerance).points - np.array([(left + right) / 2, (low + high) / 2])
    hull = convex_hull(centred).simplify(tolerance)
    # Chords, and the simplified hull's sides, lie up to their tolerance inside the curve; and the check
    # takes off twice the tolerance of its own chords before it says how near the art comes.
    grown = hull.buffer(2 * (tolerance + chord_tolerance(outline)), join_style="mitre", mitre_limit=2.0)
    return Hull(shapely.get_coordinates(grown)[:-1], LEAST_SIZE / max(outline.size))


@dataclass(frozen=True, eq=False)
class _Shape:
    """A turned hull at scale 1, and the smallest scale worth trying."""

    hull: Floats
    least: float

    def at(self, places: Floats, scales: Floats) -> list[Polygon]:
        """The hull at each place (n, 2) and scale (n,)."""
        rings = places[:, None] + scales[:, None, None] * self.hull
        return filled(rings)


def _along_axis(area: Polygon | MultiPolygon, slat: Slat, shape: _Shape) -> tuple[float, float, float] | None:
    """Best on the centre line of the slat's long direction, sought ever closer around the best place."""
    left, low, right, high = slat.outline.bounds
    middle = np.array([(left + right) / 2, (low + high) / 2])
    upright = high - low >= right - left
    least, most = (area.bounds[1], area.bounds[3]) if upright else (area.bounds[0], area.bounds[2])
    scales = (0.0, _upper_bound(area, shape))
    for _ in range(PASSES):
        along = np.linspace(least, most, POSITIONS)
        places = np.tile(middle, (POSITIONS, 1))
        places[:, 1 if upright else 0] = along
        best = _best(area, shape, places, middle, scales)
        if best is None:
            return None
        number, scale = best
        spacing = (most - least) / (POSITIONS - 1)
        least, most = along[number] - spacing, along[number] + spacing
        scales = (scale * 0.97, scale * 1.1)
    return _settled(area, shape, places[number], scale)


def _anywhere(area: Polygon | MultiPolygon, slat: Slat, shape: _Shape) -> tuple[float, float, float] | None:
    """Best on a grid over the safe area, where its axis has no room."""
    left, low, right, high = area.bounds
    x, y = np.meshgrid(np.linspace(left, right, POSITIONS), np.linspace(low, high, POSITIONS))
    places = np.stack([x.ravel(), y.ravel()], axis=1)
    middle = np.array([slat.outline.centroid.x, slat.outline.centroid.y])
    best = _best(area, shape, places, middle, (0.0, _upper_bound(area, shape)))
    return None if best is None else _settled(area, shape, places[best[0]], best[1])


def _upper_bound(area: Polygon | MultiPolygon, shape: _Shape) -> float:
    left, low, right, high = area.bounds
    return float((np.array([right - left, high - low]) / np.ptp(shape.hull, axis=0)).min())


def _best(
    area: Polygon | MultiPolygon,
    shape: _Shape,
    places: Floats,
    middle: Floats,
    scales: tuple[float, float],
) -> tuple[int, float] | None:
    """Number of the place with the largest fit, of equals the one nearest the middle, and its scale.

    Places where the smaller of the two scales does not fit are none.
    """
    shapely.prepare(area)
    low, high = scales
    fits = shapely.contains(area, shape.at(places, np.full(len(places), max(low, shape.least))))
    if not fits.any():
        return None
    chosen = np.flatnonzero(fits)
    good, bad = np.full(len(chosen), max(low, shape.least)), np.full(len(chosen), high)
    for _ in range(ROUNDS):
        between = (good + bad) / 2
        fits = shapely.contains(area, shape.at(places[chosen], between))
        good, bad = np.where(fits, between, good), np.where(fits, bad, between)
    equal = np.flatnonzero(good >= good.max() * (1 - EQUAL))
    number = int(equal[np.argmin(np.hypot(*(places[chosen[equal]] - middle).T))])
    return int(chosen[number]), float(good[number])


def _settled(
    area: Polygon | MultiPolygon, shape: _Shape, place: Floats, scale: float
) -> tuple[float, float, float] | None:
    """Position rounded to 0.001 mm and the size down to six digits, still inside."""
    x, y = round(float(place[0]), 3), round(float(place[1]), 3)
    digits = 10.0 ** (np.floor(np.log10(scale)) - 5)
    for _ in range(200):
        scale = float(np.floor(scale / digits) * digits)
        if shapely.contains(area, shape.at(np.array([[x, y]]), np.array([scale]))[0]):
            return x, y, round(scale, 12)
        scale -= digits * 0.5
    return None
