"""The flow: curves moved step by step until lines and lands are wide enough, the topology kept."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely

from artwork.axis import study
from artwork.axis.anatomy import Anatomy
from artwork.curves import Contour, Floats, areas_of
from artwork.cut import Cut, Placement
from artwork.placing import largest_fit, safe_area
from artwork.repair.demands import MARGIN, Side, asks_of, land_side, line_side
from artwork.repair.net import Ints, Net
from artwork.repair.shifting import Asks, shifts
from artwork.repair.tracing_back import traced_back
from artwork.repair.uniting import crossing, mended
from artwork.scene import Scene

MOST_STEPS = 16
STILL = 0.004
"""Points that would move by less than this, mm, stay where they are."""
PATIENCE = 3
"""So many steps that gain less than GAIN together are a standstill."""
GAIN = 0.1
TRUST = 0.6
"""No point moves farther than this in one step, mm; less after a step that made things worse."""
CAUTION = 0.6
LEAST_TRUST = 0.12
NODES = 1.8
"""No more than this many times the nodes that were drawn."""
LONG = 2.5
"""Curves longer than this, mm, are cut in two where they are too stiff."""
FOLDS = 2.0
"""Folds that are mended are no larger than this, mm², together."""
DAMPING = (0.5, 0.5, 0.0, 0.0, 0.0, 0.0)
"""Where curves would cross they go a part as far, again and again; at last they stay where they are."""


@dataclass(frozen=True, eq=False)
class State:
    """Art in mm on a slat, studied.

    Attributes:
        cut: its outline is in mm of the original placement; the placement's scale is near 1.
        anatomy, scene: of it.
        lines, lands: what the check says of both sides.
    """

    cut: Cut
    anatomy: Anatomy
    scene: Scene
    lines: Side
    lands: Side

    @property
    def lack(self) -> float:
        """mm² by which lines and lands are too narrow: 0 where nothing stops."""
        total = 0.0
        for side in (self.lines, self.lands):
            for run in side.runs:
                short = side.required[run.stretch] - 2 * self.scene.scale * (run.clearance - self.scene.slack)
                total += max(float(short), 0.0) * (run.length * self.scene.scale + 0.5)
            for region in side.lost:
                total += float(side.needs[region] - 2 * self.scene.scale * side.axis.peak[region]) * 1.0
        return total

    @property
    def holds(self) -> bool:
        """Whether nothing stops."""
        return not (self.lines.runs or self.lands.runs or len(self.lines.lost) or len(self.lands.lost))


def placed(cut: Cut, contours: tuple[Contour, ...]) -> Cut:
    """Contours in mm of the slat as a cut: where they are if they lie well there, else at the largest fit."""
    outline = replace(cut.outline, contours=contours)
    left, low, right, high = outline.bounds
    here = Placement((left + right) / 2, (low + high) / 2, 1.0)
    area = safe_area(cut.slat, cut.allowances)
    points = np.concatenate([contour.polyline(0.01) for contour in contours])
    shapely.prepare(area)
    if area.buffer(1e-3).contains(shapely.MultiPoint(points).convex_hull):
        return replace(cut, outline=outline, placement=here)
    fit = largest_fit(outline, cut.slat, cut.allowances)
    return replace(cut, outline=outline, placement=replace(fit, scale=min(fit.scale, 1.0)))


def looked_at(cut: Cut, contours: tuple[Contour, ...]) -> State:
    """Contours placed and studied."""
    there = placed(cut, contours)
    anatomy = traced_back(study(there.outline), contours)
    scene = Scene(there, anatomy)
    return State(there, anatomy, scene, line_side(scene), land_side(scene))


def flowed(
    cut: Cut, contours: tuple[Contour, ...], margin: float = MARGIN, going: Callable[[], bool] = lambda: True
) -> State:
    """The contours moved until nothing stops, or until that gains nothing more."""
    state = looked_at(cut, contours)
    drawn: Floats | None = None
    lacks = [state.lack]
    best, trust, nodes = state, TRUST, NODES * state.cut.outline.nodes
    for _ in range(MOST_STEPS):
        if state.holds or not going():
            break
        contours, drawn = _step(state, drawn, margin, trust)
        state = looked_at(cut, contours)
        lacks.append(state.lack)
        if lacks[-1] < best.lack:
            best = state
        else:
            trust = max(trust * CAUTION, LEAST_TRUST)
            finer = _finer(state, nodes)
            if finer is not None:
                state, drawn = looked_at(cut, finer), None
        if len(lacks) > PATIENCE and lacks[-1] > (1 - GAIN) * lacks[-1 - PATIENCE]:
            break
    return state if state.holds else best


def _step(
    state: State, drawn: Floats | None, margin: float, trust: float
) -> tuple[tuple[Contour, ...], Floats | None]:
    net = Net.of(state.cut.outline.contours)
    if drawn is None or len(drawn) != net.movable:
        drawn = np.zeros((net.movable, 2))
    asks = Asks.joined([asks_of(state.scene, side, margin) for side in (state.lines, state.lands)])
    shift = shifts(net, asks, drawn)
    size = np.hypot(shift[:, 0], shift[:, 1])
    shift *= np.minimum(1.0, trust / np.maximum(size, trust))[:, None]
    shift[size < STILL] = 0.0
    before = crossing(state.cut.outline.contours)
    for part in DAMPING:
        moved = net.moved(shift).contours()
        where = np.setdiff1d(crossing(moved), before)
        if not len(where):
            return moved, drawn + shift
        if part == 0.0:
            whole = mended(moved)
            if whole is not None and _alike(whole, moved):
                return whole, None
        shift = _damped(net, shift, where, part)
    return state.cut.outline.contours, drawn


def _finer(state: State, nodes: float) -> tuple[Contour, ...] | None:
    """Long curves at which something stops cut in two, so that they can give way; ``None`` for none."""
    net = Net.of(state.cut.outline.contours)
    stiff = net.is_bent & (net.segment_lengths > LONG)
    for side in (state.lines, state.lands):
        members = [run.members for run in side.runs]
        touched = (
            state.anatomy.segment[side.axis.feet[np.concatenate(members)]] if members else np.empty(0, int)
        )
        stopping = np.zeros(len(stiff), bool)
        stopping[touched.ravel()] = True
        chosen = np.flatnonzero(stiff & stopping)
        if len(chosen) and len(net.knots) + len(chosen) <= nodes:
            return net.halved(chosen).contours()
    return None


def _alike(whole: Sequence[Contour], moved: Sequence[Contour]) -> bool:
    """Whether mending has taken or filled no more than folds."""
    return bool(abs(areas_of(whole).sum() - areas_of(moved).sum()) < FOLDS)


def _damped(net: Net, shift: Floats, segments: Ints, part: float) -> Floats:
    """Less of the shift for the points of some segments and their neighbours."""
    before = np.empty_like(net.following)
    before[net.following] = np.arange(len(before))
    near = np.unique(np.concatenate([segments, net.following[segments], before[segments]]))
    left = np.ones(len(shift))
    left[net.handles[near].ravel()] = part
    return np.asarray(shift * left[:, None])
