"""Flat bottoms: where they are, with which bit they are cleared, what it leaves of them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import shapely
from shapely import MultiPolygon
from shapely.geometry.base import BaseGeometry

from artwork import tooling
from artwork.curves import Floats
from artwork.cut import Cut
from artwork.shapes import polygonal
from artwork.workpiece import Allowances, Bit

CLOSEST = 0.05
"""Lines over a floor lie no closer than this, mm: a ridge of no height would take for ever."""
QUAD_SEGS = 16


@dataclass(frozen=True)
class Clearing:
    """How one floor is cleared.

    Attributes:
        flat: where the flat bit comes; empty without one.
        rest: where the V-bit does.
        flat_step, rest_step: distance between their lines, mm.
    """

    flat: MultiPolygon
    rest: MultiPolygon
    flat_step: float
    rest_step: float


def step_of(bit: Bit, allowances: Allowances) -> float:
    """Distance of a V-bit's lines that leaves ridges of the shop's height: ``t + 2·h·tan φ``.

    The tip-flat form of the countersink rule turned round (``h = (p − t) / 2 / tan φ``).
    """
    return max(bit.tip_flat + 2 * allowances.floor_ridge * tooling.slope(bit), CLOSEST)


def clearing(floor: MultiPolygon, bit: Bit, allowances: Allowances) -> Clearing:
    """A flat bit clears what its circle reaches; the V-bit the corners and necks that are left."""
    flat = MultiPolygon()
    if allowances.flat_bit > 0 and not floor.is_empty:
        radius = allowances.flat_bit / 2
        flat = polygonal(floor.buffer(-radius, quad_segs=QUAD_SEGS).buffer(radius, quad_segs=QUAD_SEGS))
    rest = polygonal(floor.difference(flat)) if not flat.is_empty else floor
    return Clearing(flat, rest, allowances.flat_bit * allowances.flat_bit_step, step_of(bit, allowances))


def ridges(cut: Cut, art: Callable[[], BaseGeometry], places: Floats, reach: Floats, width: float) -> Floats:
    """Mean height, over ``width`` at each place, of what the V-bit leaves standing on flat bottoms, mm.

    Its lines run with the grain; one runs round along the floor's own edge, so no ridge stands at the wall. A
    flat bit leaves none where it comes.

    Args:
        cut: whose art it is.
        art: makes the area to be carved, slat mm; asked only where it is needed.
        places: shape (n, 2), slat mm, inside the art. reach: shape (n,), their distance to its edge, mm.
        width: of a picture's pixel or a section's step, mm.
    """
    found = np.zeros(len(places))
    allowances, bit = cut.allowances, cut.bit
    limit = tooling.depth_limit(cut.slat, bit, allowances)
    beyond = reach - limit * tooling.slope(bit) - bit.tip_flat
    floor = np.flatnonzero(beyond > 0)
    if not len(floor):
        return found
    grain = np.radians(cut.slat.grain_deg)
    across = places[floor] @ np.array([-np.sin(grain), np.cos(grain)])
    standing = ridge(across, width, bit, step_of(bit, allowances))
    found[floor] = np.minimum(standing, beyond[floor] / tooling.slope(bit))
    if allowances.flat_bit > 0:
        area = polygonal(art().buffer(-tooling.groove_width(limit, bit) / 2))
        flat = clearing(area, bit, allowances).flat
        shapely.prepare(flat)
        found[shapely.contains_xy(flat, places[:, 0], places[:, 1])] = 0.0
    return found


def ridge(across: Floats, width: float, bit: Bit, step: float) -> Floats:
    """Mean height of the ridges between lines ``step`` apart, mm.

    Args:
        across: distance from a line along which the tip ran, mm, any shape.
        width: over which the mean is taken there, mm: a picture's pixel.
        bit, step: the V-bit and the distance of its lines.
    """
    low, high = across - width / 2, across + width / 2
    return np.asarray((_area(high, bit, step) - _area(low, bit, step)) / width)


def _area(across: Floats, bit: Bit, step: float) -> Floats:
    """Integral of the ridges' height from a line to ``across``."""
    half_flat, tan = bit.tip_flat / 2, tooling.slope(bit)
    half_rise = max(step / 2 - half_flat, 0.0)
    whole = np.floor(across / step + 0.5)
    off = across - whole * step
    part = np.sign(off) * np.maximum(np.abs(off) - half_flat, 0.0) ** 2 / (2 * tan)
    return np.asarray(whole * half_rise**2 / tan + part)
