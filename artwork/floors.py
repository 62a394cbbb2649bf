"""Flat bottoms: where they are, with which bit they are cleared, what it leaves of them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from shapely import MultiPolygon

from artwork import tooling
from artwork.curves import Floats
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
