"""Tooling arithmetic: V-bit, round-over, sanding, uneven board.

Pure formulas on numbers or arrays, millimetres, told with worked figures in docs/how-it-decides.md. ``φ`` is half the
bit's included angle, ``t`` its tip flat, ``s`` the sanding loss, ``e`` the unevenness of the board, ``m`` how
far the bit's zero is set below the face (``s`` where the shop makes up for sanding, else 0).

Checked in ``tests/published`` against the countersink factors, the centre-drill table and the worked
round-over rows of ``docs/sources.md`` §3 and §7.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import radians, tan
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from artwork.workpiece import Allowances, Bit, Slat

Number = TypeVar("Number", float, NDArray[np.float64])

MM_PER_INCH = 25.4


def slope(bit: Bit) -> float:
    """tan φ: half-width gained per millimetre of depth."""
    return tan(radians(bit.angle_deg) / 2)


def groove_width(depth: Number, bit: Bit) -> Number:
    """Width at the face of a groove of that depth: ``t + 2·d·tan φ``."""
    return bit.tip_flat + 2 * depth * slope(bit)


def groove_depth(width: Number, bit: Bit) -> Number:
    """Depth that gives that width, before any limit: ``max(w − t, 0) / (2·tan φ)``."""
    return _at_least(width - bit.tip_flat, 0.0) / (2 * slope(bit))


def drop(inside: Number, radius: float) -> Number:
    """How much a quarter-circle edge lowers the face at ``inside`` mm from the original edge.

    ``R − √(R² − (R − x)²)`` for x < R, 0 beyond; at and outside the edge itself the whole radius.
    """
    if radius <= 0:
        return inside * 0.0
    reach = np.clip(radius - np.asarray(inside, float), 0.0, radius)
    lost = radius - np.sqrt(radius**2 - reach**2)
    return lost if isinstance(inside, np.ndarray) else float(lost)


def reach_of(lowered: float, radius: float) -> float:
    """How far from the original edge the face is lowered by ``lowered``: the inverse of :func:`drop`.

    The curve is its own mirror image, so it is the same formula.
    """
    return drop(min(max(lowered, 0.0), radius), radius)


def edge_radius(slat: Slat) -> float:
    """The larger of the routed round-over and the mill's own rounded edge: both lower the same strip."""
    return max(slat.round_over, slat.mill_radius)


def zero_below_face(allowances: Allowances) -> float:
    """``m``: how far below the face the bit's zero is set."""
    return allowances.sanding if allowances.sanding_made_up else 0.0


def depth_limit(slat: Slat, bit: Bit, allowances: Allowances) -> float:
    """``D``: the deepest the program may go below its own zero.

    The least of: the shop's share of the thickness; the bit's cutting height; the depth at which the bit's
    full diameter is reached (beyond it the walls would stand upright); the thickness less the wood that must
    stay. ``m`` is taken off each, and ``e`` off those that a high board would break.
    """
    lowered = zero_below_face(allowances)
    high = lowered + allowances.unevenness
    cone = groove_depth(bit.diameter, bit)
    return max(
        min(
            slat.thickness * allowances.depth_limit_share - lowered,
            bit.height - high,
            cone - high,
            slat.thickness - allowances.least_wood - high,
        ),
        0.0,
    )


def depth_lost(allowances: Allowances) -> float:
    """Depth a groove on the flat face can lose: ``s − m + e``."""
    return allowances.sanding - zero_below_face(allowances) + allowances.unevenness


def needed_depth(allowances: Allowances, lowered: Number) -> Number:
    """Program depth that still leaves the least depth where the edge has lowered the face by ``lowered``."""
    return allowances.least_depth + depth_lost(allowances) + lowered


def least_line(bit: Bit, allowances: Allowances, lowered: Number) -> Number:
    """Least line width that survives: ``t + 2·(d_min + L + e)·tan φ`` (depth limit not looked at)."""
    return groove_width(needed_depth(allowances, lowered), bit)


@dataclass(frozen=True)
class Cost:
    """What one allowance adds to the width a line needs, mm."""

    name: str
    width: float


def line_costs(bit: Bit, allowances: Allowances) -> tuple[Cost, ...]:
    """The least line on the flat face, taken apart: the widths add up to :func:`least_line`."""
    per_depth = 2 * slope(bit)
    return (
        Cost("tip flat of the bit", bit.tip_flat),
        Cost("depth that still reads", per_depth * allowances.least_depth),
        Cost("sanding", per_depth * (allowances.sanding - zero_below_face(allowances))),
        Cost("uneven board", per_depth * allowances.unevenness),
    )


def land_costs(bit: Bit, allowances: Allowances, across: float) -> tuple[Cost, ...]:
    """What a land needs as drawn, taken apart; ``across`` as in :func:`least_land`. The widths add up."""
    per_depth = 2 * slope(bit)
    return (
        Cost("wood that stands along the grain", allowances.land_along),
        Cost("direction to the grain", least_land(allowances, across) - allowances.land_along),
        Cost("uneven board", per_depth * allowances.unevenness),
        Cost("zero below the face", per_depth * zero_below_face(allowances)),
    )


HOLDING = {"probed": 0.2, "zeroed": 0.4, "one zero a bed": 0.6}
"""How a shop holds its boards, and the unevenness that is then left, mm: each board flattened or probed over the
art; the zero set on each board; one zero for a whole bed of boards (common practice, no source)."""


def worst_depth(width: Number, limit: float, bit: Bit, allowances: Allowances, lowered: Number) -> Number:
    """Depth left of a line of that width on the low board, after round-over and sanding; not below 0."""
    carved = _at_most(groove_depth(width, bit), limit)
    return _at_least(carved - depth_lost(allowances) - lowered, 0.0)


def deepest_cut(depth: float, allowances: Allowances) -> float:
    """How far below the face a program depth may really reach: ``d + m + e``."""
    return depth + zero_below_face(allowances) + allowances.unevenness


def land_loss(bit: Bit, allowances: Allowances) -> float:
    """Width a land loses while it is carved on the high board: ``2·(e + m)·tan φ``."""
    return 2 * (allowances.unevenness + zero_below_face(allowances)) * slope(bit)


def least_land(allowances: Allowances, across: Number) -> Number:
    """Least wood that may stand between two grooves at their worst.

    Args:
        allowances: the shop's figures along and across the grain.
        across: sin² of the angle between the land's length and the grain; 0 along, 1 across. Between the two
            the requirement is ``along + (across − along)·sin²`` (common practice, no source).
    """
    return allowances.land_along + (allowances.land_across - allowances.land_along) * across


def tolerated_unevenness(slack: float, slat: Slat, bit: Bit, allowances: Allowances) -> float:
    """The unevenness up to which lines and lands hold, mm; below 0 where they do not on a flat board.

    Args:
        slack: what the tightest line or land has above its requirement, mm; infinite for neither.
        slat, bit, allowances: those of the cut. The depth limit shrinks with unevenness too.
    """
    share = slat.thickness * allowances.depth_limit_share - zero_below_face(allowances)
    others = depth_limit(slat, bit, replace(allowances, unevenness=0.0, depth_limit_share=1.0))
    spent = allowances.least_depth + allowances.sanding - zero_below_face(allowances)
    # what the bit and the wood allow shrinks by e while the need grows by it; the shop's share stands still
    deep = min(share - spent, (others - spent) / 2)
    return min(allowances.unevenness + slack / (2 * slope(bit)), deep)


def _at_least(value: Number, floor: float) -> Number:
    return np.maximum(value, floor) if isinstance(value, np.ndarray) else max(value, floor)


def _at_most(value: Number, ceiling: float) -> Number:
    return np.minimum(value, ceiling) if isinstance(value, np.ndarray) else min(value, ceiling)
