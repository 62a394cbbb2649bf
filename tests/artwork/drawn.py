"""Shapes that tests of the engine draw: outlines from figures, no files."""

from __future__ import annotations

import numpy as np
from shapely import Polygon, box

from artwork.curves import Contour
from artwork.cut import Cut, Placement
from artwork.outline import Outline
from artwork.workpiece import Allowances, Bit, KeepOut, Slat

KAPPA = 4 / 3 * (np.sqrt(2) - 1)
"""Control length of a quarter circle by one cubic: 0.027 % off the radius at most."""


def ring(points) -> Contour:
    """A closed run of straight lines."""
    points = np.asarray(points, float)
    return Contour(points, np.full((len(points), 2, 2), np.nan))


def straight(*rings) -> Outline:
    """An outline of straight rings: outer ones counter-clockwise, holes clockwise."""
    return Outline(tuple(ring(points) for points in rings))


def rectangle(left: float, low: float, width: float, height: float, hole: bool = False):
    points = [(left, low), (left + width, low), (left + width, low + height), (left, low + height)]
    return points[::-1] if hole else points


def ellipse(a: float, b: float, x: float = 0.0, y: float = 0.0, hole: bool = False, arcs: int = 4) -> Contour:
    """An ellipse of cubics, ``arcs`` of them; more are nearer the true curve (16: 1e-9)."""
    turn = 2 * np.pi / arcs * (-1 if hole else 1)
    angles = np.arange(arcs) * turn
    reach = 4 / 3 * np.tan(turn / 4)
    cos, sin = np.cos(angles), np.sin(angles)
    knots = np.stack([cos, sin], axis=1)
    after = np.roll(knots, -1, axis=0)
    tangent = lambda p: np.stack([-p[:, 1], p[:, 0]], axis=1)  # noqa: E731
    controls = np.stack([knots + reach * tangent(knots), after - reach * tangent(after)], axis=1)
    scale, shift = np.array([a, b]), np.array([x, y])
    return Contour(knots * scale + shift, controls * scale + shift)


def board(
    width: float = 200.0, length: float = 400.0, thickness: float = 25.4, grain_deg: float = 90.0,
    round_over: float = 9.525, keep_outs: tuple[KeepOut, ...] = (), outline: Polygon | None = None,
    mill_radius: float = 0.0,
) -> Slat:  # fmt: skip
    """A plain slat, its foot at y = 0, centred on x = 0."""
    return Slat(
        key="plain", name="plain slat", outline=outline or box(-width / 2, 0, width / 2, length),
        thickness=thickness, grain_deg=grain_deg, round_over=round_over, keep_outs=keep_outs,
        mill_radius=mill_radius,
    )  # fmt: skip


def cut(
    outline: Outline, slat: Slat | None = None, scale: float = 1.0, x: float = 0.0, y: float = 200.0,
    rotation_deg: float = 0.0, mirrored: bool = False, bit: Bit | None = None,
    allowances: Allowances | None = None,
) -> Cut:  # fmt: skip
    """A cut of an outline in the middle of a large plain slat unless said otherwise."""
    placement = Placement(x, y, scale, rotation_deg, mirrored)
    return Cut(outline, slat or board(), placement, bit or Bit("v60"), allowances or Allowances())


def nothing_lost() -> Allowances:
    """A perfect world: no sanding, no unevenness, lines of any depth, lands of any width."""
    return Allowances(
        sanding=0.0, unevenness=0.0, least_depth=0.0, land_along=0.0, land_across=0.0, least_wood=0.0,
        depth_limit_share=1.0, edge_margin=0.0, keep_out_margin=0.0, end_margin=0.0,
        floor_ridge=0.0, least_width=0.0,
    )  # fmt: skip
