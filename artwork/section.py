"""A cross-section through the face: what is left of it on an even, a low and a high board."""

from __future__ import annotations

from dataclasses import dataclass
from math import atan2, cos, degrees, radians, sin

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LinearRing, LineString, Point
from shapely.geometry.base import BaseGeometry
from shapely.ops import nearest_points

from artwork.curves import Floats
from artwork.cut import Cut
from artwork.floors import ridges
from artwork.relief import CURVE_TOLERANCE
from artwork.shapes import surrounded
from artwork.tooling import depth_limit, drop, edge_radius, groove_depth, slope, zero_below_face

STEP = 0.05
"""Distance of the samples along the section, mm."""
LEAST_REACH, MOST_REACH = 6.0, 30.0
"""How far the section goes to either side, mm: a few line widths, within these."""


@dataclass(frozen=True)
class Section:
    """Heights along a straight cut across the face; every list has one value per sample.

    Attributes:
        x, y: the place, slat mm.
        turn_deg: direction of the section, counter-clockwise from the slat's x.
        offsets: distance of each sample from the place, mm.
        face: depth of the finished face (sanded, rounded over) below the face as bought, mm.
        even, low, high: the same of what is left on an even board, and where the board lies lower or higher
            than the bit's zero by the unevenness; mm.
        depth_left: deepest point of ``low`` below the finished face there: what is sure to be left, mm.
        least_depth: what must be left for a line to read, mm.
        thickness: of the board, mm.
    """

    x: float
    y: float
    turn_deg: float
    offsets: tuple[float, ...]
    face: tuple[float, ...]
    even: tuple[float, ...]
    low: tuple[float, ...]
    high: tuple[float, ...]
    depth_left: float
    least_depth: float
    thickness: float


def section(cut: Cut, where: tuple[float, float], turn_deg: float | None = None) -> Section:
    """The section through ``where`` (slat mm), straight across the line there unless ``turn_deg`` is
    given.
    """
    art = _art(cut)
    place = Point(where)
    turn = _across(art, place) if turn_deg is None else radians(turn_deg)
    reach = float(np.clip(6 * art.boundary.distance(place), LEAST_REACH, MOST_REACH))
    offsets = np.arange(-round(reach / STEP), round(reach / STEP) + 1) * STEP
    points = np.column_stack([where[0] + offsets * cos(turn), where[1] + offsets * sin(turn)])
    programmed = _programmed(cut, art, points)
    face = _face(cut, points)
    allowances = cut.allowances
    zero = zero_below_face(allowances)
    surfaces = {
        name: np.maximum(face, np.where(programmed > 0, programmed + zero + lift, 0.0))
        for name, lift in (("even", 0.0), ("low", -allowances.unevenness), ("high", allowances.unevenness))
    }
    near = np.abs(offsets) <= max(2 * art.boundary.distance(place), STEP)
    return Section(
        x=where[0],
        y=where[1],
        turn_deg=degrees(turn),
        offsets=_rounded(offsets),
        face=_rounded(face),
        even=_rounded(surfaces["even"]),
        low=_rounded(surfaces["low"]),
        high=_rounded(surfaces["high"]),
        depth_left=float(np.floor(1000 * np.max((surfaces["low"] - face)[near])) / 1000),
        least_depth=allowances.least_depth,
        thickness=cut.slat.thickness,
    )


def _art(cut: Cut) -> BaseGeometry:
    art = surrounded([LinearRing(contour.polyline(CURVE_TOLERANCE)) for contour in cut.placed().contours])
    shapely.prepare(art)
    return art


def _across(art: BaseGeometry, place: Point) -> float:
    """Direction from the nearest edge of the art through the place."""
    edge = nearest_points(art.boundary, place)[0]
    if edge.distance(place) == 0:
        return 0.0
    return atan2(place.y - edge.y, place.x - edge.x)


def _programmed(cut: Cut, art: BaseGeometry, points: Floats) -> Floats:
    """Depth below the bit's zero that the program cuts at each point, ridges of floors left standing; 0 outside
    the art.
    """
    there = shapely.points(points)
    inside = shapely.contains(art, there)
    clearance = np.where(inside, shapely.distance(art.boundary, there), 0.0)
    limit = depth_limit(cut.slat, cut.bit, cut.allowances)
    # A tip of some width leaves a flat: no run of the section is deeper than its widest place allows.
    widest = np.zeros_like(clearance)
    starts = np.flatnonzero(np.diff(np.concatenate([[0], inside.astype(int), [0]])))
    for start, stop in starts.reshape(-1, 2):
        widest[start:stop] = clearance[start:stop].max()
    cap = np.minimum(groove_depth(2 * widest, cut.bit), limit)
    depth = np.minimum(clearance / slope(cut.bit), cap)
    if cut.allowances.floor_ridge > 0:
        depth -= ridges(cut, lambda: art, points, clearance, STEP)
    return np.asarray(depth)


def _face(cut: Cut, points: Floats) -> Floats:
    edge = LineString(cut.slat.outline.exterior.coords)
    there = shapely.points(points)
    to_edge = np.where(shapely.contains(cut.slat.outline, there), shapely.distance(edge, there), 0.0)
    radius = edge_radius(cut.slat)
    lost = drop(np.minimum(to_edge, radius), radius) if radius > 0 else np.zeros(len(points))
    return np.asarray(lost + cut.allowances.sanding)


def _rounded(values: NDArray[np.floating]) -> tuple[float, ...]:
    return tuple(float(value) for value in np.round(values, 3))
