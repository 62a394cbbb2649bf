"""What the check asks of an outline, place by place: the runs that stop, and rows for the solver."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from artwork.axis.anatomy import Anatomy, Axis
from artwork.curves import Floats
from artwork.findings.lands import Lands, judge_lands
from artwork.findings.lines import Lines, judge_lines
from artwork.findings.runs import Run, Strip
from artwork.repair.net import Bools, Ints
from artwork.repair.shifting import Asks
from artwork.scene import Scene

CLOSING = 0.7
"""Narrow places that may stay so lose no more than this share of their width in one step: walls never cross."""
TIP = 0.4
"""A point may lose this share of what is too narrow of it."""
REACH = 2.0
"""Lines and lands with less than this to spare, mm, are watched while others are moved."""
STEP = 0.9
"""No more than this, mm, is asked for in one step."""
LEAST_WEIGHT = 0.1
"""A place on the axis stands for at least this much of its length, mm."""
MARGIN = 0.04
"""What is asked for beyond the requirement, mm."""
ROUND = 1.5
"""A part or island whose axis is shorter than this times its width is round: it grows as a disc."""


@dataclass(frozen=True, eq=False)
class Side:
    """Lines or lands of a scene, judged place by place.

    Attributes:
        axis: of that side.
        strip: its axis as it was judged, with what each place requires.
        runs: thin runs that stop.
        let_be: shape (n,), places that are narrow and no loss: points, flecks, shapes that touch.
        kept_so: shape (n,), places that are narrow and no loss as long as they get no narrower: dead ends, necks.
        lost: numbers of regions that are too narrow everywhere (parts that vanish, islands that break out).
        needs: shape (regions,), mm, what each region needs at its widest.
        flecks: numbers of regions that are too narrow everywhere, and so small that nobody misses them.
    """

    axis: Axis
    strip: Strip
    runs: tuple[Run, ...]
    let_be: Bools
    kept_so: Bools
    lost: Ints
    needs: Floats
    flecks: Ints

    @property
    def feet(self) -> Ints:
        """Shape (n, 2): the boundary segments on which each place of the strip has its feet."""
        return np.asarray(self.axis.feet[self.strip.whole])


def line_side(scene: Scene) -> Side:
    """The carved side, as the check judges it."""
    return side_of(scene.anatomy.lines, judge_lines(scene))


def land_side(scene: Scene) -> Side:
    """The wood that is left, as the check judges it."""
    return side_of(scene.anatomy.lands, judge_lands(scene))


def side_of(axis: Axis, judged: Lines | Lands) -> Side:
    """One side of what has been judged."""
    strip = judged.strip
    let_be = np.isin(strip.region, judged.flecks)
    kept_so = np.zeros(len(strip.region), bool)
    stopping = {id(run) for run in judged.stops}
    touching = {id(run) for run in judged.touching}
    lost = set(judged.lost.tolist())
    stops = list(judged.stops)
    for run in judged.runs:
        if id(run) in stopping:
            if run.tapering:
                let_be[_tip_of(strip, run)] = True
            continue
        if int(strip.region[run.stretch]) in lost:
            stops.append(run)
        elif run.tapering or id(run) in touching:
            let_be[run.members] = True
        else:
            kept_so[run.members] = True
    return Side(axis, strip, tuple(stops), let_be, kept_so, judged.lost, judged.needs, judged.flecks)


def _tip_of(strip: Strip, run: Run) -> Ints:
    """The narrow part of a point that ends too early: it may end early by so much."""
    members = run.members[np.argsort(strip.least[run.members])]
    length = np.cumsum(strip.lengths[members])
    return np.asarray(members[length <= TIP * length[-1]])


def asks_of(scene: Scene, side: Side, margin: float) -> Asks:
    """Rows for one side.

    Args:
        scene: the outline on the slat.
        side: its lines or lands.
        margin: mm beyond the requirement.
    """
    factor = 1 / scene.scale
    strip, anatomy = side.strip, scene.anatomy
    width = 2 * (strip.clearance - scene.slack)
    lack = factor * strip.required[:, None] + margin - width
    lack = np.where(side.kept_so[:, None], np.minimum(lack, 0.0), lack)
    lack = np.where(side.let_be[:, None], -CLOSING * width, lack)
    watched = lack > -REACH
    stretch, end = np.nonzero(watched)
    places = strip.places[stretch, end]
    feet = side.feet[stretch]
    segment, t, normal = _feet(anatomy, places, feet)
    known = np.asarray((segment >= 0).all(axis=1))
    half = np.maximum(strip.lengths[stretch] / 2, LEAST_WEIGHT)
    rows = Asks(segment, t, normal, np.minimum(lack[stretch, end], STEP), half)
    rows = _chosen(rows, known)
    return Asks.joined([rows, *_discs(scene, side, margin)])


def feet_rows(anatomy: Anatomy, side: Side, members: Ints, lack: float) -> Asks:
    """Rows that ask the same of both ends of some stretches of a side; mm where the outline's unit is mm."""
    stretch = np.repeat(members, 2)
    places = side.strip.places[members].reshape(-1, 2)
    segment, t, normal = _feet(anatomy, places, side.feet[stretch])
    half = np.maximum(side.strip.lengths[stretch] / 2, LEAST_WEIGHT)
    rows = Asks(segment, t, normal, np.full(len(stretch), lack), half)
    return _chosen(rows, np.asarray((segment >= 0).all(axis=1)))


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
