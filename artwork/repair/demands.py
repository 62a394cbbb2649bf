"""What the check asks of an outline, place by place: the runs that stop, and rows for the solver."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from artwork.axis.anatomy import Anatomy, Axis
from artwork.curves import Floats
from artwork.findings.flecks import are_flecks
from artwork.findings.lines import flat_requirement
from artwork.findings.runs import Run, strip_of, thin_runs
from artwork.findings.standing import island_needs, land_strip
from artwork.repair.net import Bools, Ints
from artwork.repair.shifting import Asks
from artwork.scene import Scene

REACH = 2.0
"""Lines and lands with less than this to spare, mm, are watched while others are moved."""
STEP = 0.7
"""No more than this, mm, is asked for in one step."""
LEAST_WEIGHT = 0.1
"""A place on the axis stands for at least this much of its length, mm."""
MARGIN = 0.04
"""What is asked for beyond the requirement, mm."""
ROUND = 1.5
"""A part or island whose axis is shorter than this times its width is round: it grows as a disc."""


@dataclass(frozen=True, eq=False)
class Side:
    """Lines or lands of a scene, judged stretch by stretch.

    Attributes:
        axis: of that side.
        required: shape (n,), width each stretch needs, mm.
        runs: thin runs that stop (not slight ones, not those that end in a point).
        let_be: shape (n,), stretches that are narrow and no loss: points, flecks.
        kept_so: shape (n,), stretches that are narrow and no loss as long as they get no narrower: dead ends.
        lost: numbers of regions that are too narrow everywhere (parts that vanish, islands that break out).
        flecks: such regions that nobody misses.
        needs: shape (regions,), mm, what each region needs at its widest.
    """

    axis: Axis
    required: Floats
    runs: tuple[Run, ...]
    let_be: Bools
    kept_so: Bools
    lost: Ints
    flecks: Ints
    needs: Floats


def line_side(scene: Scene) -> Side:
    """The carved side. Requirements on the flat face: repaired art lies inside the round-over."""
    axis, anatomy = scene.anatomy.lines, scene.anatomy
    base = flat_requirement(scene)
    required = np.full(len(axis.region), base)
    return _side(scene, axis, required, np.full(len(axis.peak), base), anatomy.piece_span)


def land_side(scene: Scene) -> Side:
    """The wood that is left."""
    axis = scene.anatomy.lands
    strip = land_strip(scene)
    required = np.zeros(len(axis.region))
    np.maximum.at(required, strip.whole, strip.required)
    needs = island_needs(scene, strip)
    return _side(scene, axis, required, needs, scene.anatomy.land_span)


def _side(scene: Scene, axis: Axis, required: Floats, needs: Floats, span: Floats) -> Side:
    strip = strip_of(axis, required, np.zeros(len(required)))
    lost = np.flatnonzero(2 * scene.scale * (axis.peak - scene.slack) < needs)
    fleck = are_flecks(scene, span[lost], needs[lost])
    flecks, lost = lost[fleck], lost[~fleck]
    runs = thin_runs(strip, scene.scale, scene.slack)
    let_be, kept_so = np.isin(axis.region, flecks), np.zeros(len(axis.region), bool)
    stopping = []
    for run in runs:
        region = axis.region[run.stretch]
        if region in flecks:
            continue
        if (run.slight or run.tapering) and region not in lost:
            (let_be if run.tapering else kept_so)[run.members] = True
        else:
            stopping.append(run)
    return Side(axis, required, tuple(stopping), let_be, kept_so, lost, flecks, needs)


def asks_of(scene: Scene, side: Side, margin: float) -> Asks:
    """Rows for one side.

    Args:
        scene: the outline on the slat.
        side: its lines or lands.
        margin: mm beyond the requirement.
    """
    factor = 1 / scene.scale
    axis, anatomy = side.axis, scene.anatomy
    width = 2 * (axis.clearance - scene.slack)
    lack = factor * side.required[:, None] + margin - width
    lack = np.where(side.kept_so[:, None], np.minimum(lack, 0.0), lack)
    watched = (lack > -REACH) & ~side.let_be[:, None]
    stretch, end = np.nonzero(watched)
    places = axis.places[stretch, end]
    feet = axis.feet[stretch]
    segment, t, normal = _feet(anatomy, places, feet)
    known = np.asarray((segment >= 0).all(axis=1))
    half = np.maximum(axis.lengths[stretch] / 2, LEAST_WEIGHT)
    rows = Asks(segment, t, normal, np.minimum(lack[stretch, end], STEP), half)
    rows = _chosen(rows, known)
    return Asks.joined([rows, *_discs(scene, side, margin)])


def _chosen(rows: Asks, which: Bools) -> Asks:
    return Asks(rows.segment[which], rows.t[which], rows.normal[which], rows.lack[which], rows.weight[which])


def feet_of(anatomy: Anatomy, places: Floats, feet: Ints) -> Floats:
    """Both feet of each place on the axis, shape (n, 2, 2): the nearest points of its two segments."""
    return _feet_and_shares(anatomy, places, feet)[0]


def _feet_and_shares(anatomy: Anatomy, places: Floats, feet: Ints) -> tuple[Floats, Floats]:
    following = _following(anatomy.ring)
    a, b = anatomy.points[feet], anatomy.points[following[feet]]
    way = b - a
    share = ((places[:, None] - a) * way).sum(axis=2) / np.maximum((way**2).sum(axis=2), 1e-18)
    share = np.clip(share, 0.0, 1.0)
    return a + share[..., None] * way, share


def _feet(anatomy: Anatomy, places: Floats, feet: Ints) -> tuple[Ints, Floats, Floats]:
    """Curve segment, place on it and outward direction (away from the axis) of both feet of each place."""
    following = _following(anatomy.ring)
    foot, share = _feet_and_shares(anatomy, places, feet)
    normal = foot - places[:, None]
    reach = np.hypot(normal[..., 0], normal[..., 1])
    normal = normal / np.maximum(reach, 1e-9)[..., None]
    segment = anatomy.segment[feet]
    start = anatomy.share[feet]
    end = np.where(anatomy.segment[following[feet]] == segment, anatomy.share[following[feet]], 1.0)
    end = np.where(end <= start, 1.0, end)
    return segment, start + share * (end - start), normal


def _following(ring: Ints) -> Ints:
    following = np.arange(1, len(ring) + 1)
    last = np.flatnonzero(np.append(ring[1:] != ring[:-1], True))
    first = np.append(0, last[:-1] + 1)
    following[last] = first
    return following


def _discs(scene: Scene, side: Side, margin: float) -> list[Asks]:
    """Round parts and islands that are lost grow around their widest place."""
    anatomy, axis = scene.anatomy, side.axis
    ring_region = anatomy.ring_piece if axis is anatomy.lines else anatomy.ring_land
    reach = np.bincount(axis.region, axis.lengths, len(axis.peak))
    factor, found = 1 / scene.scale, []
    for region in side.lost:
        need = (factor * side.needs[region] + margin) / 2 + scene.slack
        if not np.isfinite(need) or reach[region] > ROUND * 2 * need:
            continue
        chosen = np.flatnonzero(ring_region[anatomy.ring] == region)
        off = anatomy.points[chosen] - axis.peak_place[region]
        distance = np.hypot(off[:, 0], off[:, 1])
        near = (distance < need) & (anatomy.segment[chosen] >= 0)
        chosen, off, distance = chosen[near], off[near], distance[near]
        count = len(chosen)
        segment = np.repeat(anatomy.segment[chosen][:, None], 2, axis=1)
        t = np.repeat(anatomy.share[chosen][:, None], 2, axis=1)
        normal = np.zeros((count, 2, 2))
        normal[:, 0] = off / np.maximum(distance, 1e-9)[:, None]
        lack = np.minimum(need - distance, STEP)
        found.append(Asks(segment, t, normal, lack, np.full(count, 0.2)))
    return found
