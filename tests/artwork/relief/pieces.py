"""Cuts for the tests of pictures and drawings, from plain rings."""

from __future__ import annotations

import numpy as np
from shapely import box

from artwork.curves import Contour
from artwork.cut import Cut, Placement
from artwork.outline import Outline
from artwork.workpiece import Allowances, Bit, Slat

SHARP = Bit("sharp", angle_deg=60.0, tip_flat=0.0, diameter=50.8, height=40.0)
NOTHING_LOST = Allowances(sanding=0.0, unevenness=0.0, depth_limit_share=1.0, least_wood=0.0, floor_ridge=0.0)


def ring(points) -> Contour:
    knots = np.array(points, float)
    return Contour(knots, np.full((len(knots), 2, 2), np.nan))


def circle(x: float, y: float, r: float, hole: bool = False) -> Contour:
    """Four cubics; off the true circle by at most 0.00027 r."""
    k = 0.5522847498
    turns = np.array([[1, 0], [0, 1], [-1, 0], [0, -1]], float)
    knots = np.array([x, y]) + r * turns
    after = np.roll(turns, -1, axis=0)
    controls = np.stack([turns + k * after, after + k * turns], axis=1) * r + np.array([x, y])
    curve = Contour(knots, controls)
    return curve.reversed() if hole else curve


def rectangle(x0, y0, x1, y1, hole: bool = False) -> Contour:
    points = [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]
    return ring(points[::-1] if hole else points)


def cut_of(*contours: Contour, slat=None, bit=SHARP, allowances=NOTHING_LOST, **placement) -> Cut:
    """Art in slat mm as drawn: the placement puts its centre where it already is."""
    outline = Outline(tuple(contours))
    x0, y0, x1, y1 = outline.bounds
    where = {"x": (x0 + x1) / 2, "y": (y0 + y1) / 2, "scale": 1.0, **placement}
    slat = slat or Slat("plank", "plank", box(-60, 0, 60, 100), 50.0, round_over=0.0)
    return Cut(outline, slat, Placement(**where), bit, allowances)
