"""Axis stretches cut into shorter pieces, where what is required changes along a stretch.

Near the rounded edge it changes with the place, between grooves with the direction of the land. Each piece is
judged by the most that is required anywhere on it.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from artwork import tooling
from artwork.axis.anatomy import BISECTOR, PARABOLA, STRAIGHT, Axis, Climb
from artwork.curves import Floats
from artwork.findings.runs import Bools, Ints, Strip, strip_of
from artwork.findings.wording import GRAIN, NOISE
from artwork.scene import Scene

SPACING = 0.5
"""Length of the pieces near the rounded edge, mm."""
PIECE_BOW = 0.08
"""A wide-angled part of a parabola leaves its chord by at most this share of the chord."""


def lowered_strip(scene: Scene, axis: Axis) -> Strip:
    """The lines' axis with the requirement of every place, stretches near the edge cut into pieces."""
    ends = scene.place(axis.places)
    inside = scene.inside(ends.reshape(-1, 2)).reshape(-1, 2)
    length = axis.lengths * scene.scale
    # a parabola's stretch bows out by less than its length
    near = inside.min(axis=1) - length < tooling.edge_radius(scene.cut.slat)
    strip = cut_up(axis, np.where(near, np.ceil(length / SPACING), 1).astype(np.int64))
    lowered = _lowered(scene, strip.places, near[strip.whole], axis.kind[strip.whole] == PARABOLA)
    required = tooling.least_line(scene.cut.bit, scene.cut.allowances, lowered)
    impossible = tooling.needed_depth(scene.cut.allowances, lowered) > scene.limit
    return replace(strip, required=np.where(impossible, np.inf, rounded_up(required)), lowered=lowered)


def cut_up(axis: Axis, pieces: Ints) -> Strip:
    """A whole axis as a strip that requires nothing yet, each stretch cut into so many equal pieces."""
    pieces = np.maximum(pieces, 1)
    nothing = np.zeros(len(pieces))
    if (pieces == 1).all():
        return strip_of(axis, nothing, nothing)
    which = np.repeat(np.arange(len(pieces)), pieces)
    number = np.arange(len(which)) - np.repeat(np.cumsum(pieces) - pieces, pieces)
    shares = np.stack([number, number + 1], axis=1) / pieces[which][:, None]
    places = np.stack([_places(axis, which, shares[:, side]) for side in (0, 1)], axis=1)
    clearance = np.stack([_clearances(axis, which, shares[:, side]) for side in (0, 1)], axis=1)
    headings = np.stack([_headings(axis, which, shares[:, side]) for side in (0, 1)], axis=1)
    ends = _numbers(axis, which, number, pieces)
    lengths = np.asarray(np.hypot(*(places[:, 1] - places[:, 0]).T))
    return Strip(
        places=places,
        clearance=clearance,
        headings=headings,
        ends=ends,
        region=axis.region[which],
        taper=axis.taper[which],
        least=clearance.min(axis=1, initial=np.inf),
        lengths=lengths,
        crossing=lambda chosen, r: _crossing(clearance[chosen], r),
        required=np.zeros(len(which)),
        lowered=np.zeros(len(which)),
        climb=_climb(axis.climb, ends, clearance, lengths),
        whole=which,
    )


def rounded_up(values: Floats) -> Floats:
    """Each to the next hundredth above, as :func:`artwork.findings.wording.up` does it."""
    return np.asarray(np.round(np.ceil(values / GRAIN - NOISE) * GRAIN, 10))


def _places(axis: Axis, which: Ints, share: Floats) -> Floats:
    """Points along stretches; a parabola is the quadratic Bézier whose end tangents share a control point."""
    a, b = axis.places[which, 0], axis.places[which, 1]
    f = share[:, None]
    straight = a + f * (b - a)
    curved = axis.kind[which] == PARABOLA
    if not curved.any():
        return np.asarray(straight)
    first, last = axis.headings[which, 0], axis.headings[which, 1]
    turn = np.sin(last - first)
    off = b - a
    along = (off[:, 0] * np.sin(last) - off[:, 1] * np.cos(last)) / np.where(turn == 0, 1.0, turn)
    control = a + along[:, None] * np.stack([np.cos(first), np.sin(first)], axis=1)
    bent = (1 - f) ** 2 * a + 2 * f * (1 - f) * control + f * f * b
    return np.asarray(np.where((curved & (np.abs(turn) > 1e-9))[:, None], bent, straight))


def _clearances(axis: Axis, which: Ints, share: Floats) -> Floats:
    r, t = axis.clearance[which], axis.runs[which]
    here = t[:, 0] + share * (t[:, 1] - t[:, 0])
    kind = axis.kind[which]
    squared = kind == BISECTOR
    values = np.where(squared[:, None], r**2, r)
    curved = squared | (kind == PARABOLA)
    base = np.where(curved[:, None], t**2, t)
    here = np.where(curved, here**2, here)
    width = base[:, 1] - base[:, 0]
    along = (here - base[:, 0]) / np.where(width == 0, 1.0, width)
    found = values[:, 0] + along * (values[:, 1] - values[:, 0])
    return np.asarray(np.where(squared, np.sqrt(np.maximum(found, 0.0)), found))


def _headings(axis: Axis, which: Ints, share: Floats) -> Floats:
    """Directions along stretches: a parabola's tangent turns evenly enough with its base line coordinate."""
    first, last = axis.headings[which, 0], axis.headings[which, 1]
    turn = np.arctan2(np.sin(last - first), np.cos(last - first))
    return np.asarray(first + share * turn)


def _lowered(scene: Scene, places: Floats, near: Bools, bowed: Bools) -> Floats:
    """The most the face is lowered on each piece; 0 away from the edge."""
    found = np.zeros(len(places))
    if not near.any():
        return found
    there = scene.place(places[near])
    inside = scene.inside(there.reshape(-1, 2)).reshape(-1, 2)
    length = np.hypot(*(there[:, 1] - there[:, 0]).T)
    # the distance to the edge changes no faster than the way does; on a convex slat it is concave besides,
    # and what a parabola bows out in so short a piece is bounded
    slow = (inside.sum(axis=1) - length) / 2
    least = (
        inside.min(axis=1) - np.where(bowed[near], PIECE_BOW * length, 0.0) if scene.slat_is_convex else slow
    )
    found[near] = scene.lowered(np.maximum(least, 0.0))
    return found


def _numbers(axis: Axis, which: Ints, number: Ints, pieces: Ints) -> Ints:
    """Vertex numbers of the pieces' ends: the stretch's own at its ends, new ones between."""
    known = max(int(axis.ends.max(initial=-1)) + 1, len(axis.climb.up))
    fresh = known + np.arange(len(which))
    last = number == pieces[which] - 1
    start = np.where(number == 0, axis.ends[which, 0], fresh - 1)
    return np.stack([start, np.where(last, axis.ends[which, 1], fresh)], axis=1)


def _climb(whole: Climb, ends: Ints, clearance: Floats, lengths: Floats) -> Climb:
    """The ways upwards with every piece a way of its own, along which the clearance grows evenly."""
    count = int(ends.max(initial=-1)) + 1
    more = max(count - len(whole.up), 0)
    up, length = np.append(whole.up, np.full(more, -1)), np.append(whole.length, np.zeros(more))
    found, leaves = np.append(whole.clearance, np.zeros(more)), np.append(whole.leaves, np.zeros(more, bool))
    kind = np.append(whole.kind, np.full(more, STRAIGHT, np.int8))
    runs = np.concatenate([whole.runs, np.zeros((more, 2))])
    found[ends] = clearance
    row = np.flatnonzero(clearance[:, 0] != clearance[:, 1])
    high = clearance[row].argmax(axis=1)
    low_end = ends[row, 1 - high]
    up[low_end], length[low_end], leaves[low_end] = ends[row, high], lengths[row], False
    kind[low_end] = STRAIGHT
    runs[low_end] = np.stack([np.zeros(len(row)), lengths[row]], axis=1)
    return Climb(up, length, found, leaves, kind, runs, whole)


def _crossing(clearance: Floats, radius: Floats) -> Floats:
    gain = clearance[:, 1] - clearance[:, 0]
    return np.asarray(np.clip((radius - clearance[:, 0]) / np.where(gain == 0, 1.0, gain), 0.0, 1.0))
