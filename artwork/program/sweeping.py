"""The bit's own shape swept along a program's moves, on a grid; and the time that takes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from artwork.curves import Floats
from artwork.program import _sweep  # built by scripts/setup.sh
from artwork.program.moves import Cutter, Moves

Depths = NDArray[np.float32]

ACCELERATION = 300.0
"""mm/s², of a hobby router's gantry; common practice, no source. A shop's own times correct it."""
CORNER = 0.02
"""How far a control may cut a corner to keep its speed, mm; common practice, no source."""
RAPID_SPEED = 5000 / 60
"""mm/s; common practice, no source."""


@dataclass(frozen=True)
class Grid:
    """Where a sweep is worked out.

    Attributes:
        columns, rows: of cells.
        cell: mm.
        left, top: mm, the outer corner of the first cell; row 0 is the top.
    """

    columns: int
    rows: int
    cell: float
    left: float
    top: float


def sweep(ends: Floats, cutter: Cutter, grid: Grid) -> Depths:
    """How deep below z = 0 a bit cuts at each cell's centre; shape (rows, columns), mm, 0 where nothing is cut.

    Args:
        ends: shape (n, 6), x, y, z of both ends of each straight move, mm.
        cutter: the bit's shape.
        grid: where.

    Exact for each move: the deepest place of the tip along it has a closed form.
    """
    found = _sweep.sweep(
        np.ascontiguousarray(ends, np.float64),
        cutter.tip_radius,
        cutter.slope,
        cutter.radius,
        grid.columns,
        grid.rows,
        grid.cell,
        grid.left,
        grid.top,
    )
    return np.frombuffer(found, np.float32).reshape(grid.rows, grid.columns)


def swept(moves: Moves, ends: Floats, cutters: Mapping[int, Cutter], grid: Grid) -> Depths:
    """The same for all tools of a program.

    Args:
        moves: of the program.
        ends: the moves' ends where they are to be swept, shape (n, 6).
        cutters: by T number; 0 serves every number that is not there.
        grid: where.
    """
    depths = np.zeros((grid.rows, grid.columns), np.float32)
    for tool in np.unique(moves.tool):
        cutter = cutters.get(int(tool), cutters[0])
        depths = np.maximum(depths, sweep(ends[moves.tool == tool], cutter, grid))
    return depths


def minutes(
    moves: Moves,
    *,
    acceleration: float = ACCELERATION,
    rapid: float = RAPID_SPEED,
    corner: float = CORNER,
    dwell: float = 0.0,
) -> float:
    """How long the moves take, with speeding up and slowing down at corners.

    Args:
        moves: of the program.
        acceleration: mm/s².
        rapid: mm/s of rapid moves.
        corner: how far a corner may be cut, mm; 0 stops at each.
        dwell: seconds of waiting.
    """
    if not len(moves):
        return dwell / 60
    speeds = np.where(moves.rapid, rapid, np.minimum(np.nan_to_num(moves.feed, nan=60.0) / 60, rapid))
    ends = np.ascontiguousarray(np.hstack([moves.start, moves.end]))
    each = np.frombuffer(_sweep.seconds(ends, np.ascontiguousarray(speeds), acceleration, max(corner, 0.0)))
    return (float(each.sum()) + dwell) / 60
