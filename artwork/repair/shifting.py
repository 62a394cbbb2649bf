"""How far each curve must move so that lines and lands are wide enough: one sparse least-squares problem.

Unknown are the shifts of all knots and control points. What is asked of them is linear: where a line (or a
land) is too narrow, the shifts of its two sides along their normals together must make up for the lack. Curves
resist being moved a little, being turned much more, and being bent most, so that stems stay straight and
parallel, a stroke slides aside as a whole, and what needs no change gets none.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.sparse import coo_array, csr_array, vstack

from artwork.curves import Floats
from artwork.repair.net import Ints, Net
from artwork.repair.pressing import Pressing, press

STAY = 0.02
"""Resistance to being moved, per mm² of curve length and shift."""
TURN = 4.0
"""Resistance to being turned against the direction that was drawn."""
STRETCH = 0.005
"""Resistance to being drawn out along itself."""
BEND = 30.0
"""Resistance of a smooth joint to becoming a corner."""
ASK = 400.0
"""Weight of what lines and lands ask for."""
HELD = 200.0
"""Weight of what a point goes too far in one step: others make up for it, which they do not where it is cut short."""
ROUNDS = 16
"""At most so many until it is clear which requirements press."""
FOLDABLE, SHRINKING, FOLDING = 1.2, 0.4, 0.1
"""Segments shorter than this, mm, and the legs of curves' control polygons lose no more than this share of their length
in one step; weight of that, mm."""
GAUSS = np.array([0.06943184, 0.33000948, 0.66999052, 0.93056816])
GAUSS_WEIGHT = np.array([0.17392742, 0.32607258, 0.32607258, 0.17392742])
TINY = 1e-9
"""Resistance of a point that no curve of any length holds."""
SHORTEST = 0.25
"""Segments shorter than this, mm, resist turning no more than one of this length."""


@dataclass(frozen=True, eq=False)
class Asks:
    """Rows ``Σ normal · shift(foot) ≥ lack``: each over one or two feet.

    Attributes:
        segment, t: shapes (m, 2), the curve segment and place of both feet.
        normal: shape (m, 2, 2), direction in which each foot makes room; zero for a foot that does not count.
        lack: shape (m,), mm; negative where there is room to spare.
        weight: shape (m,), mm of axis that the row stands for.
    """

    segment: Ints
    t: Floats
    normal: Floats
    lack: Floats
    weight: Floats

    @classmethod
    def joined(cls, several: list[Asks]) -> Asks:
        """All rows of several."""
        names = ("segment", "t", "normal", "lack", "weight")
        return cls(*(np.concatenate([getattr(each, name) for each in several]) for name in names))


def shifts(
    net: Net, asks: Asks, drawn: Floats, rest: Floats, *, wait: float = 0.0, most: float = np.inf
) -> Floats:
    """Shape (movable, 2): the least shifts that meet what is asked, or come nearest to it.

    Args:
        net: the curves as they are.
        asks: what is asked of them.
        drawn: shape (movable, 2), how far each point already is from where it was drawn.
        rest: shape (movable, 2), how far it is from where it lay in the shape that the curves keep to.
        wait: resistance to being moved in this step, per mm² of curve length and shift, beside that to be moved at
            all: without it curves of requirements that contradict each other are flung to and fro.
        most: how far points should go at most, mm.
    """
    count = net.movable
    place, shape = _resistance(net)
    pull = -(place @ drawn.T.ravel() + shape @ rest.T.ravel())
    kept = _kept(net)
    asked = Pressing(
        (1 + wait / STAY) * place + shape,
        vstack([_rows(net, asks, count), kept.rows], format="csr"),
        np.concatenate([asks.lack, kept.lack]),
        ASK * np.concatenate([asks.weight, np.full(len(kept.lack), FOLDING)]),
        pull,
        most,
        HELD,
    )
    found = press(asked, ROUNDS)
    return np.stack([found[:count], found[count:]], axis=1)


@dataclass(frozen=True, eq=False)
class _Kept:
    """Rows by which nothing is turned about: shape (m, 2 · movable), and what each may lose, shape (m,), below 0."""

    rows: csr_array
    lack: Floats


def _kept(net: Net) -> _Kept:
    """The legs of curves' control polygons and the chords of short segments keep their direction.

    A control point that passed its own knot would make a loop there: such a curve crosses its neighbour.
    """
    handles, points, count = net.handles, net.points, net.movable
    short = handles[net.segment_lengths < FOLDABLE]
    bent = handles[net.bent]
    ends = np.concatenate([short[:, [0, 3]], bent[:, :2], bent[:, 1:3], bent[:, 2:]])
    way = points[ends[:, 1]] - points[ends[:, 0]]
    far = np.hypot(way[:, 0], way[:, 1])
    ends, way, far = ends[far > 0], way[far > 0], far[far > 0]
    along = way / far[:, None]
    row = np.tile(np.arange(len(ends)), 4)
    column = np.concatenate([ends[:, side] + axis * count for axis in (0, 1) for side in (0, 1)])
    value = np.concatenate([sign * along[:, axis] for axis in (0, 1) for sign in (-1, 1)])
    rows = coo_array((value, (row, column)), shape=(len(ends), 2 * count)).tocsr()
    return _Kept(rows, -SHRINKING * far)


def _rows(net: Net, asks: Asks, count: int) -> csr_array:
    """Shape (m, 2 · movable)."""
    row, column, value = [], [], []
    for side in (0, 1):
        segment = asks.segment[:, side]
        weights = net.weights(segment, asks.t[:, side])
        handles = net.handles[segment]
        for axis in (0, 1):
            row.append(np.repeat(np.arange(len(segment)), 4))
            column.append((handles + axis * count).ravel())
            value.append((weights * asks.normal[:, side, axis][:, None]).ravel())
    shape = (len(asks.lack), 2 * count)
    return coo_array(
        (np.concatenate(value), (np.concatenate(row), np.concatenate(column))), shape=shape
    ).tocsr()


def _resistance(net: Net) -> tuple[csr_array, csr_array]:
    """Quadratic forms on shifts, shape (2 · movable, 2 · movable): of being moved, and of a changed shape."""
    count, n = net.movable, len(net.knots)
    segment = np.repeat(np.arange(n), 4)
    t = np.tile(GAUSS, n)
    weights = net.weights(segment, t)
    length = net.segment_lengths[segment] * np.tile(GAUSS_WEIGHT, n)
    velocity = net.velocities(segment, t)
    speed = np.maximum(np.hypot(*velocity.T), SHORTEST * 0.5)
    along = velocity / np.maximum(np.hypot(*velocity.T), 1e-12)[:, None]
    across = np.stack([-along[:, 1], along[:, 0]], axis=1)
    slopes = _slopes(net, segment, t) / speed[:, None]
    still = weights * np.sqrt(STAY * length)[:, None]
    turned, stretched = (
        np.hstack([slopes * (np.sqrt(weight * length) * direction[:, axis])[:, None] for axis in (0, 1)])
        for weight, direction in ((TURN, across), (STRETCH, along))
    )
    handles = net.handles
    both = np.hstack([handles, handles + count])
    shape = np.stack([turned.reshape(n, 4, 8), stretched.reshape(n, 4, 8)], axis=1).reshape(n, 8, 8)
    joints, knots = _joints(net, count)
    moved = still.reshape(n, 4, 4)
    every = np.arange(2 * count)[:, None]
    place = _form(
        [(moved, handles), (moved, handles + count), (np.full((2 * count, 1, 1), TINY**0.5), every)], count
    )
    return place, _form([(shape, both), (joints[:, None], knots)], count)


def _form(parts: Sequence[tuple[Floats, Ints]], count: int) -> csr_array:
    """Sum of the squares of rows.

    Args:
        parts: values, shape (n, rows, k), of several rows each on the same k columns, shape (n, k).
        count: movable points.
    """
    values, rows, columns = [], [], []
    for each, where in parts:
        values.append(np.matmul(each.transpose(0, 2, 1), each).ravel())
        rows.append(np.repeat(where, where.shape[1], axis=1).ravel())
        columns.append(np.tile(where, where.shape[1]).ravel())
    entries = np.concatenate(values), (np.concatenate(rows), np.concatenate(columns))
    return coo_array(entries, shape=(2 * count, 2 * count)).tocsr()


def _slopes(net: Net, segment: Ints, t: Floats) -> Floats:
    """Shape (m, 4): derivative by ``t`` of :meth:`Net.weights`."""
    s = 1 - t
    cubic = 3 * np.stack([-s * s, s * s - 2 * s * t, 2 * s * t - t * t, t * t], axis=1)
    one = np.ones_like(t)
    line = np.stack([-one, 0 * one, one, 0 * one], axis=1)
    return np.where(net.is_bent[segment][:, None], cubic, line)


def _joints(net: Net, count: int) -> tuple[Floats, Ints]:
    """Rows that keep smooth joints smooth: both sides of a knot turn alike."""
    before = np.flatnonzero(net.smooth)
    after = net.following[before]
    tangent = net.arriving[before] + net.leaving[after]
    tangent /= np.maximum(np.hypot(*tangent.T), 1e-12)[:, None]
    normal = np.stack([-tangent[:, 1], tangent[:, 0]], axis=1)
    handles, points = net.handles, net.points
    inner = np.where(net.is_bent[before], handles[before, 2], handles[before, 0])
    outer = np.where(net.is_bent[after], handles[after, 1], handles[after, 3])
    knot = after
    reach_in = np.maximum(np.hypot(*(points[knot] - points[inner]).T), SHORTEST / 3)
    reach_out = np.maximum(np.hypot(*(points[outer] - points[knot]).T), SHORTEST / 3)
    strength = np.sqrt(
        BEND * np.minimum(np.minimum(net.segment_lengths[before], net.segment_lengths[after]), 1.0)
    )
    values, columns = [], []
    for axis in (0, 1):
        by = strength * normal[:, axis]
        values += [-by / reach_in, by * (1 / reach_in + 1 / reach_out), -by / reach_out]
        columns += [inner + axis * count, knot + axis * count, outer + axis * count]
    return np.stack(values, axis=1), np.stack(columns, axis=1)
