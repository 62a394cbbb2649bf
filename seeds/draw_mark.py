"""Draws the workshop's own mark: a barrow on level ground, and an ox's horns over it. In mm, y up."""

from __future__ import annotations

import numpy as np
from shapely import LineString, unary_union
from shapely.geometry.base import BaseGeometry

LINE = 4.4
"""Width of all lines, mm."""


def own_mark() -> BaseGeometry:
    """About 96 mm wide and 82 mm high."""
    hill = _arc(0, 0, 36, 0, 180)
    ground = LineString([(-46, 0), (46, 0)])
    horns = _arc(0, 74, 26, 195, 345)
    return unary_union([line.buffer(LINE / 2) for line in (hill, ground, horns)])


def _arc(x: float, y: float, r: float, first: float, last: float) -> LineString:
    turns = np.radians(np.linspace(first, last, 97))
    return LineString(np.column_stack([x + r * np.cos(turns), y + r * np.sin(turns)]))
