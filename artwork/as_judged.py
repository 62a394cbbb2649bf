"""A cut as it is judged: what finish, narrow bits, cup and the wood's strength do to the shop's figures.

The judges know sanding, unevenness, least depth and least land. Everything else that takes depth or wood away
is brought down to these, cut by cut.
"""

from __future__ import annotations

from dataclasses import replace
from math import cos, radians, sin
from typing import TYPE_CHECKING

import numpy as np

from artwork import tooling
from artwork.cut import Cut
from artwork.wood import REFERENCE, cup_height, land_factors
from artwork.workpiece import Allowances, Bit

if TYPE_CHECKING:
    from artwork.axis import Anatomy


def as_judged(cut: Cut, anatomy: Anatomy) -> Cut:
    """The cut with finish, least width, cup and wood in its least depth, unevenness and least lands."""
    allowances = as_read(cut.bit, cut.allowances)
    along, across = land_factors(cut.slat.species)
    return replace(
        cut,
        slat=replace(cut.slat, species=REFERENCE),
        allowances=replace(
            allowances,
            unevenness=allowances.unevenness + _cup_over_art(cut, anatomy),
            cup=0.0,
            land_along=allowances.land_along * along,
            land_across=allowances.land_across * across,
        ),
    )


def as_read(bit: Bit, allowances: Allowances) -> Allowances:
    """With the depth a groove needs in order to read: wide enough at the face, and not filled by the finish.

    A groove of depth d is ``t + 2·d·tan φ`` wide at the finished face. A film f thick on face and walls raises
    the bottom of a V by ``f / sin φ`` and the face by f, so it takes ``f·(1/sin φ − 1)`` of depth: f itself for
    a 60° bit, 2.86 f for one of 30°.
    """
    wide = (allowances.least_width - bit.tip_flat) / (2 * tooling.slope(bit))
    half = radians(bit.angle_deg) / 2
    filled = allowances.finish_film * (1 / sin(half) - 1)
    least = max(allowances.least_depth, wide) + filled
    return replace(allowances, least_depth=least, least_width=0.0, finish_film=0.0)


def _cup_over_art(cut: Cut, anatomy: Anatomy) -> float:
    """How far the board's face departs from its height at the art's middle, where the zero is set, mm."""
    cup = cut.allowances.cup
    if cup <= 0:
        return 0.0
    grain = radians(cut.slat.grain_deg)
    across = np.array([-sin(grain), cos(grain)])
    board = np.asarray(cut.slat.outline.exterior.coords) @ across
    art = cut.placement.place(anatomy.hull, anatomy.centre) @ across
    width, middle = float(np.ptp(board)), float(board.max() + board.min()) / 2
    ends = np.clip([art.min() - middle, art.max() - middle], -width / 2, width / 2)
    zero = cup_height(width, cup, float(ends.mean()))
    least, most = float(ends.min()), float(ends.max())
    crown = 0.0 if least <= 0 <= most else min(abs(least), abs(most))
    heights = [cup_height(width, cup, off) for off in (least, most, crown)]
    return max(abs(height - zero) for height in heights)
