"""A slat's outline from the figures a maker measures."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

import numpy as np
from annotated_types import Ge, Gt, Lt
from shapely import Polygon

from artwork.curves import Floats
from artwork.errors import EngineError

ARC_TOLERANCE = 0.005
"""How far a chord may lie off a true arc, mm: an order finer than any allowance."""


Length = Annotated[float, Gt(0), Lt(10_000)]


@dataclass(frozen=True)
class SlatFigures:
    """A slat as a maker measures it, mm.

    Attributes:
        width: at the shoulder (the top's two corners), mm
        length: from the foot to the highest point, mm
        foot_width: width at the foot, mm; null for the same all along
        top_rise: how far the top is rounded upwards, mm
        top_slope: how far the top slopes from left to right, mm
    """

    width: Length
    length: Length
    foot_width: Length | None = None
    top_rise: Annotated[float, Ge(0), Lt(10_000)] = 0.0
    top_slope: Annotated[float, Gt(-10_000), Lt(10_000)] = 0.0


def slat_outline(figures: SlatFigures) -> Polygon:
    """The finished edge of a slat: straight or tapered, with a flat, sloped or arched top.

    In the slat's frame x = 0 is its centre line and y = 0 its foot. A rail, which lies across the piece,
    is given as it lies: its long way is ``width``. The arch bulges ``top_rise`` beyond the straight line between the
    top's corners; ``top_slope`` is how much higher the right corner is than the left.

    Raises:
        EngineError: figures that make no slat.
    """
    width, length, top_rise, top_slope = figures.width, figures.length, figures.top_rise, figures.top_slope
    foot = width if figures.foot_width is None else figures.foot_width
    wood = (
        bool(np.isfinite([width, foot, length, top_rise, top_slope]).all()) and min(width, foot, length) > 0
    )
    if not wood or top_rise < 0 or top_rise > width / 2 or top_rise + abs(top_slope) >= length:
        raise EngineError(
            "slat-figures",
            f"These figures make no slat: width {width:g}, foot {foot:g}, length {length:g}, "
            f"rise {top_rise:g}, slope {top_slope:g} mm.",
            "Give widths and a length above 0, and a top that is lower than the slat is long.",
        )
    right = np.array([width / 2, max(top_slope, 0.0)])
    left = np.array([-width / 2, max(-top_slope, 0.0)])
    top = _arch(right, left, top_rise)
    top[:, 1] += length - top[:, 1].max()
    return Polygon(np.vstack([[[-foot / 2, 0.0], [foot / 2, 0.0]], top]))


def _arch(start: Floats, end: Floats, rise: float) -> Floats:
    """Points of the circular arc from ``start`` to ``end``, bulging ``rise`` to the right of the way."""
    if rise < ARC_TOLERANCE:
        return np.vstack([start, end])
    chord = end - start
    half = np.hypot(*chord) / 2
    radius = (half**2 + rise**2) / (2 * rise)
    outward = np.array([chord[1], -chord[0]]) / (2 * half)
    centre = (start + end) / 2 + outward * (rise - radius)
    sweep = 2 * np.arctan2(half, radius - rise)
    steps = int(np.ceil(sweep / (2 * np.arccos(1 - ARC_TOLERANCE / radius))))
    first = np.arctan2(*(start - centre)[::-1])
    turns = first + np.linspace(0.0, sweep, steps + 1)
    points: Floats = centre + radius * np.column_stack([np.cos(turns), np.sin(turns)])
    points[0], points[-1] = start, end
    return points
