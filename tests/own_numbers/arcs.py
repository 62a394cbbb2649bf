"""Contours written with arcs: runs of points that lie on a circle become one G2 or G3."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from math import atan2, hypot, pi

import numpy as np
from numpy.typing import NDArray

from tests.artwork.program.toolpaths import Path

TOLERANCE = 0.004
"""How far points, and middles of chords, may lie off their arc, mm."""
MOST_TURN = 2.5
"""Of one arc, radians."""
LARGEST = 200.0
"""Radius, mm: flatter runs stay straight."""


def with_arcs(paths: Sequence[Path], decimals: int = 4) -> list[str]:
    """The lines of a program."""
    lines = ["G17 G21 G90 G40 G49 G80 G54", "T1 M6", "S16000 M3", "G0 Z5.0"]
    for path in paths:
        points = path.points
        x, y, z = points[0]
        lines += [_xy("G0", x, y, decimals), f"G1 Z{z:.{decimals}f} F700", "F2000"]
        lines += _run(points, decimals)
        lines.append("G0 Z5.0")
    return [*lines, "M5", "M30"]


def _run(points: NDArray[np.float64], decimals: int) -> list[str]:
    lines, at = [], 0
    while at < len(points) - 1:
        end, arc = _longest_arc(points, at)
        x, y, z = points[end]
        if arc is None:
            lines.append(_xy("G1", x, y, decimals) + f" Z{z:.{decimals}f}")
        else:
            (cx, cy), turn = arc
            # from where the control stands, which is the rounded place
            x0, y0 = round(points[at][0], decimals), round(points[at][1], decimals)
            lines.append(
                _xy("G3" if turn > 0 else "G2", x, y, decimals)
                + f" I{cx - x0:.{decimals}f} J{cy - y0:.{decimals}f}"
            )
        at = end
    return lines


def _longest_arc(
    points: NDArray[np.float64], at: int
) -> tuple[int, tuple[tuple[float, float], float] | None]:
    """The farthest point that one arc reaches from here, and the arc; the next point where none reaches two on."""
    found: tuple[int, tuple[tuple[float, float], float] | None] = (at + 1, None)
    for end in range(at + 3, min(at + 60, len(points))):
        run = points[at : end + 1]
        if np.ptp(run[:, 2]) > 0:
            break
        arc = _arc(run[:, :2])
        if arc is None:
            break
        found = (end, arc)
    return found


def _arc(run: NDArray[np.float64]) -> tuple[tuple[float, float], float] | None:
    a, b, c = run[0], run[len(run) // 2], run[-1]
    d = 2 * (a[0] * (b[1] - c[1]) + b[0] * (c[1] - a[1]) + c[0] * (a[1] - b[1]))
    if abs(d) < 1e-9:
        return None
    squares = [p[0] ** 2 + p[1] ** 2 for p in (a, b, c)]
    cx = (squares[0] * (b[1] - c[1]) + squares[1] * (c[1] - a[1]) + squares[2] * (a[1] - b[1])) / d
    cy = (squares[0] * (c[0] - b[0]) + squares[1] * (a[0] - c[0]) + squares[2] * (b[0] - a[0])) / d
    radius = hypot(a[0] - cx, a[1] - cy)
    middles = (run[1:] + run[:-1]) / 2
    off = np.abs(np.hypot(*(np.vstack([run, middles]) - [cx, cy]).T) - radius)
    if radius > LARGEST or off.max() > TOLERANCE:
        return None
    angles = [atan2(y - cy, x - cx) for x, y in run]
    turns = [(after - before + pi) % (2 * pi) - pi for before, after in pairwise(angles)]
    whole = sum(turns)
    if not 0.05 < abs(whole) < MOST_TURN or any(turn * whole <= 0 for turn in turns):
        return None
    return (float(cx), float(cy)), whole


def _xy(g: str, x: float, y: float, decimals: int) -> str:
    return f"{g} X{x:.{decimals}f} Y{y:.{decimals}f}"
