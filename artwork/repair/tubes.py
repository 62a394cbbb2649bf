"""The last touch: places that miss their width by a little, widened by a tube along their axis.

Where moving the curves swings to and fro around what is wanted, a tube of the needed width along the narrow part of
a line's axis (carved), or of a land's axis (left standing), settles it. It ends where the line is wide enough, so
that its edge runs into the edge that was drawn.
"""

from __future__ import annotations

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from artwork.repair.clock import Clock
from artwork.repair.demands import Side
from artwork.repair.state import State, looked_at
from artwork.repair.uniting import UnionError, joined, less
from artwork.shapes import strokes, united

MOST_SHORT = 0.5
"""What misses by more than this, mm, is not widened by tubes."""
BEYOND = (0.012, 0.02, 0.03)
"""mm that a tube is wider than needed, time after time."""
SMOOTH = 0.004
"""mm by which the tubes' edges may be simplified."""
ROUND = 6
"""Chords of a quarter of a tube's end."""


def touched_up(state: State, clock: Clock) -> State:
    """The state with tubes where little is missing; the same where that does not lessen what is lacking."""
    best = state
    for beyond in BEYOND:
        if best.holds or clock.over:
            break
        tried = _with_tubes(best, beyond)
        if tried is None or tried.lack >= best.lack:
            break
        best = tried
    return best


def _with_tubes(state: State, beyond: float) -> State | None:
    carved, left = _tubes(state, state.lines, beyond), _tubes(state, state.lands, beyond)
    if carved is None or left is None or (carved.is_empty and left.is_empty):
        return None
    try:
        contours = less(joined(state.art.contours, carved), left)
    except UnionError:
        return None
    return looked_at(state.cut, state.art.remade(contours)) if contours else None


def _tubes(state: State, side: Side, beyond: float) -> BaseGeometry | None:
    """Tubes at all places of a side that stop; ``None`` where one misses too much."""
    scale, slack = state.scene.scale, state.scene.slack
    found: list[BaseGeometry] = []
    for run in side.runs:
        need = float(side.strip.required[run.members].max()) / scale
        if need - 2 * (run.clearance - slack) > MOST_SHORT:
            return None
        radius = (need + beyond) / 2 + slack
        found += np.atleast_1d(shapely.buffer(strokes(run.lines), radius, quad_segs=ROUND)).tolist()
    return shapely.simplify(united(found), SMOOTH)
