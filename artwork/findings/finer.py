"""Axis stretches cut into short pieces, where the face is lowered by the rounded edge.

There the requirement changes along a stretch, so each piece is judged by the most the face is lowered on it.
"""

from __future__ import annotations

import numpy as np

from artwork import tooling
from artwork.axis.anatomy import BISECTOR, PARABOLA, Axis
from artwork.curves import Floats
from artwork.findings.runs import Bools, Ints, Strip
from artwork.findings.wording import up
from artwork.scene import Scene

SPACING = 0.5
"""Length of the pieces, mm."""
PIECE_BOW = 0.08
"""A wide-angled part of a parabola leaves its chord by at most this share of the chord."""


def lowered_strip(scene: Scene, axis: Axis) -> Strip:
    """The lines' axis with the requirement of every place, stretches near the edge cut into pieces."""
    ends = scene.place(axis.places)
    inside = scene.inside(ends.reshape(-1, 2)).reshape(-1, 2)
    length = axis.lengths * scene.scale
    # a parabola's stretch bows out by less than its length
    near = inside.min(axis=1) - length < tooling.edge_radius(scene.cut.slat)
    pieces = np.where(near, np.ceil(length / SPACING), 1).astype(np.int64)
    pieces = np.maximum(pieces, 1)
    which = np.repeat(np.arange(len(pieces)), pieces)
    number = np.arange(len(which)) - np.repeat(np.cumsum(pieces) - pieces, pieces)
    shares = np.stack([number, number + 1], axis=1) / pieces[which][:, None]
    places = np.stack([_places(axis, which, shares[:, side]) for side in (0, 1)], axis=1)
    clearance = np.stack([_clearances(axis, which, shares[:, side]) for side in (0, 1)], axis=1)
    lowered = _lowered(scene, places, near[which], axis.kind[which] == PARABOLA)
    required = tooling.least_line(scene.cut.bit, scene.cut.allowances, lowered)
    impossible = tooling.needed_depth(scene.cut.allowances, lowered) > scene.limit
    required = np.where(impossible, np.inf, _up(required))
    return Strip(
        places,
        clearance,
        _numbers(axis, which, number, pieces),
        axis.region[which],
        axis.taper[which],
        clearance.min(axis=1, initial=np.inf),
        np.asarray(np.hypot(*(places[:, 1] - places[:, 0]).T)),
        lambda chosen, r: _crossing(clearance[chosen], r),
        required,
        lowered,
        None,
    )


def _up(values: Floats) -> Floats:
    grains, which = np.unique(values, return_inverse=True)
    return np.asarray(np.array([up(value) for value in grains])[which])


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
    fresh = int(axis.ends.max(initial=-1)) + 1 + np.arange(len(which))
    last = number == pieces[which] - 1
    start = np.where(number == 0, axis.ends[which, 0], fresh - 1)
    return np.stack([start, np.where(last, axis.ends[which, 1], fresh)], axis=1)


def _crossing(clearance: Floats, radius: Floats) -> Floats:
    gain = clearance[:, 1] - clearance[:, 0]
    return np.asarray(np.clip((radius - clearance[:, 0]) / np.where(gain == 0, 1.0, gain), 0.0, 1.0))
