"""The flow: curves moved step by step until lines and lands are wide enough, the topology kept."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from scipy.spatial import cKDTree

from artwork.axis.anatomy import Anatomy
from artwork.curves import Contour, Floats, areas_of
from artwork.repair.clock import Clock
from artwork.repair.demands import MARGIN, asks_of
from artwork.repair.folds import folds_of
from artwork.repair.net import Ints, Net
from artwork.repair.shifting import Asks, shifts
from artwork.repair.state import Art, State, looked_at
from artwork.repair.uniting import mended
from artwork.scene import Scene

MOST_STEPS = 16
SPARE = 0.3
"""So much nearer, mm, each step keeps to where it was drawn: the last touches move edges as well."""
STILL = 0.004
"""Points that would move by less than this, mm, stay where they are."""
PATIENCE = 3
"""So many steps that gain less than GAIN together are a standstill."""
GAIN = 0.1
WAIT = 6.0
"""How much curves resist being moved in one step."""
BOLD, TRUST = 1.0, 0.6
"""No point moves farther than this in one step, mm, before and after one that gained less than QUICK; less after a step
that made things worse."""
SLOW = 0.2
"""After a step that gained less than this share points are cut off: it may be they that keep the rest from moving."""
QUICK = 0.3
CAUTION = 0.6
LEAST_TRUST = 0.12
NODES = 1.8
"""No more than this many times the nodes that were drawn."""
LONG = 2.5
"""Curves longer than this, mm, are cut in two where they are too stiff."""
POINTED, BLUNT, MOST_BLUNT = 0.05, 0.6, 0.3
"""What is narrower than POINTED, mm, is a point; so many mm of its sides are cut off, no more than a share of them."""
POLISH, POLISH_TRUST, POLISH_MARGIN = 8, 0.15, 0.012
"""Steps of the last touch, how far each may go, and by how much each asks for more, mm."""
LITTLE, NEARLY = 4.0, 0.35
"""It is for what lacks no more than so many mm² in all, and nowhere more than so many mm."""
SHORT = 0.6
"""Segments shorter than this, mm, are taken out where they stand in the way."""
FOLDS = 2.0
"""Folds that are mended are no larger than this, mm², together."""
DAMPING = (0.5, 0.5, 0.5, 0.5, 0.0, 0.0, 0.0, 0.0)
"""Where curves would cross they go a part as far, again and again; at last they stay where they are."""


def flowed(state: State, clock: Clock, margin: float = MARGIN, wait: float = WAIT) -> State:
    """The art moved until nothing stops, or until that gains nothing more.

    Args:
        state: the art.
        clock: when to stop.
        margin: what is asked for beyond the requirement, mm.
        wait: how much curves resist being moved in one step (:func:`artwork.repair.shifting.shifts`).
    """
    cut = state.cut
    lacks = [state.lack]
    best, trust, nodes = state, BOLD, NODES * cut.outline.nodes
    for _ in range(MOST_STEPS):
        if state.holds or clock.over:
            break
        state = looked_at(cut, _step(state, margin, trust, wait))
        lacks.append(state.lack)
        if lacks[-1] > (1 - QUICK) * lacks[-2]:
            trust = min(trust, TRUST)
        if lacks[-1] < best.lack:
            best = state
        else:
            trust = max(trust * CAUTION, LEAST_TRUST)
            state = _finer(state, nodes)
        if len(lacks) <= PATIENCE:
            continue
        still = lacks[-1] > (1 - GAIN) * lacks[-1 - PATIENCE]
        if still or lacks[-1] > (1 - SLOW) * lacks[-2]:
            pointed, state = state, _blunted(state, nodes)
            if state is not pointed:
                lacks = [state.lack]
            elif still:
                break
    return state if state.holds else _polished(best, clock, margin, wait)


def _polished(state: State, clock: Clock, margin: float, wait: float) -> State:
    """Little steps with ever more margin, where what is still lacking is little."""
    best, spoilt, since = state, 0, 0
    for number in range(POLISH):
        if state.holds or clock.over or best.lack > LITTLE or best.shortest > NEARLY:
            break
        if spoilt > 1 or since > PATIENCE:
            break
        state = looked_at(state.cut, _step(state, margin + number * POLISH_MARGIN, POLISH_TRUST, wait))
        since += 1
        if state.lack < best.lack:
            best, since = state, 0
        elif state.lack > 2 * best.lack + 0.5:
            state, spoilt = best, spoilt + 1
    return state if state.holds else best


def _step(state: State, margin: float, trust: float, wait: float) -> Art:
    net = Net.of(state.art.contours)
    sides = (state.lines, state.lands)
    asks = Asks.joined([asks_of(state.scene, side, margin) for side in sides])
    drawn, rest = state.art.since(state.art.drawn), state.art.since(state.art.rest)
    shift = shifts(net, asks, drawn, rest, wait=wait, most=trust)
    size = np.hypot(shift[:, 0], shift[:, 1])
    shift *= np.minimum(1.0, trust / np.maximum(size, trust))[:, None]
    shift[size < STILL] = 0.0
    shift = not_too_far(net, drawn, shift, state.art.most_bent - SPARE)
    return _without_crossing(state.art, net.evened(shift, SHORT))


def not_too_far(net: Net, before: Floats, shift: Floats, most: float) -> Floats:
    """The shift, shorter where a point would be bent farther than may be shown.

    Args:
        net: the curves.
        before: shape (movable, 2), how far each point is from where it was drawn.
        shift: shape (movable, 2).
        most: how far any point may be from where it was drawn, mm, against its ring as a whole.
    """
    after = before + shift
    knots = after[: len(net.ring)]
    whole = np.stack([np.bincount(net.ring, knots[:, axis]) for axis in (0, 1)], axis=1)
    off = after - (whole / net.lengths[:, None])[net.owner]
    far = np.hypot(off[:, 0], off[:, 1])
    return np.asarray(shift - off * (1 - most / np.maximum(far, most))[:, None])


def _without_crossing(art: Art, shift: Floats) -> Art:
    """The art moved, less far where curves would cross, and without short segments that stand in the way."""
    before = len(art.crossing)
    for part in DAMPING:
        moved = _unfolded(art.moved(shift))
        where = moved.crossing
        if len(where) <= before:
            return moved
        net = Net.of(art.contours)
        chosen = _in_the_way(net, where)
        if len(chosen):
            goal = Net.of(moved.contours).collapsed(chosen)
            art = art.collapsed(chosen)
            shift = goal.points - Net.of(art.contours).points
            continue
        if part == 0.0:
            whole = mended(moved.contours)
            if whole is not None and _alike(whole, moved.contours):
                return moved.remade(whole)
        shift = _damped(net, shift, where, part)
    return art


def _unfolded(art: Art) -> Art:
    """The art with loops at joints cut off."""
    folds = folds_of(Net.of(art.contours), art.crossing)
    return art.trimmed(folds) if folds.there else art


def _blunted(state: State, nodes: float) -> State:
    """The same with points that end too early cut off: a corner whose two sides are to part needs an end between."""
    net = Net.of(state.art.contours)
    tree, found = cKDTree(net.knots), set()
    for side in (state.lines, state.lands):
        for run in side.runs:
            ends = side.strip.clearance[run.members] < POINTED
            places = side.strip.places[run.members][ends]
            if run.tapering and len(places):
                far, near = tree.query(places)
                found |= set(np.asarray(near)[far < POINTED].tolist())
    comes = net.before
    corners: list[int] = []
    for knot in sorted(found):
        beside = {int(net.following[knot]), int(comes[knot])}
        if not net.smooth[comes[knot]] and not beside & set(corners):
            corners.append(knot)
    if not corners or len(net.knots) + len(corners) > nodes:
        return state
    knots = np.array(corners, np.int64)
    long = net.segment_lengths
    off = np.minimum(BLUNT, MOST_BLUNT * np.minimum(long[comes[knots]], long[knots]))
    art = state.art.blunted(knots, 1 - off / long[comes[knots]], off / long[knots])
    return looked_at(state.cut, art)


def _finer(state: State, nodes: float) -> State:
    """The same with long curves at which something stops cut in two, so that they can give way."""
    net = Net.of(state.art.contours)
    stiff = net.is_bent & (net.segment_lengths > LONG)
    stopping = np.zeros(len(stiff), bool)
    for side in (state.lines, state.lands):
        for run in side.runs:
            stopping[state.anatomy.segment[side.feet[run.members]].ravel()] = True
    chosen = np.flatnonzero(stiff & stopping)
    if not len(chosen) or len(net.knots) + len(chosen) > nodes:
        return state
    art = state.art.halved(chosen)
    anatomy = _halved(state.anatomy, chosen)
    there = replace(state.cut, outline=replace(state.cut.outline, contours=art.contours))
    return replace(state, art=art, cut=there, anatomy=anatomy, scene=Scene(there, anatomy))


def _halved(anatomy: Anatomy, chosen: Ints) -> Anatomy:
    """The anatomy with its points on the halves of the segments that were cut in two."""
    segment, share = anatomy.segment, anatomy.share
    split, second = np.isin(segment, chosen), share >= 0.5
    number = segment + np.searchsorted(chosen, segment) + (split & second)
    return replace(anatomy, segment=number, share=np.where(split, 2 * share - second, share))


def _in_the_way(net: Net, segments: Ints) -> Ints:
    """Short segments among those that would cross, and beside them: a notch's flat ground, a step."""
    beside = np.flatnonzero(np.isin(net.following, segments))
    near = np.unique(np.concatenate([segments, net.following[segments], beside]))
    return net.collapsible(near[net.segment_lengths[near] < SHORT])


def _alike(whole: Sequence[Contour], moved: Sequence[Contour]) -> bool:
    """Whether mending has taken or filled no more than folds: each edge is still there, and none is new."""
    sizes = [areas_of(contours) for contours in (whole, moved)]
    edges = [(int((size > 0).sum()), int((size < 0).sum())) for size in sizes]
    nodes = [sum(len(each.knots) for each in contours) for contours in (whole, moved)]
    folds = abs(float(sizes[0].sum() - sizes[1].sum()))
    return bool(edges[0] == edges[1] and folds < FOLDS and nodes[0] <= nodes[1] + 24)


def _damped(net: Net, shift: Floats, segments: Ints, part: float) -> Floats:
    """Less of the shift for the points of some segments and their neighbours."""
    near = np.unique(np.concatenate([segments, net.following[segments], net.before[segments]]))
    left = np.ones(len(shift))
    left[net.handles[near].ravel()] = part
    return np.asarray(shift * left[:, None])
