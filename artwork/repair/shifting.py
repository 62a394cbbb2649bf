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
from scipy.sparse import coo_array, csc_array, csr_array
from scipy.sparse.linalg import splu

from artwork.curves import Floats
from artwork.repair.net import Bools, Ints, Net

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
CLEAR = 0.002
"""It is clear which requirements press once no point would move by more than this, mm."""
HALVINGS = 8
"""How often the way is halved on which a round goes too far."""
FOLDABLE, SHRINKING, FOLDING = 1.2, 0.8, 0.1
"""Segments shorter than this, mm, lose no more than this share of their length in one step; weight of that, mm."""
GAUSS = np.array([0.06943184, 0.33000948, 0.66999052, 0.93056816])
GAUSS_WEIGHT = np.array([0.17392742, 0.32607258, 0.32607258, 0.17392742])
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


def unfolded(net: Net) -> Asks:
    """Rows by which short segments keep their direction: none is turned about by what their neighbours do."""
    chosen = np.flatnonzero(net.segment_lengths < FOLDABLE)
    way = net.knots[net.following[chosen]] - net.knots[chosen]
    far = np.hypot(way[:, 0], way[:, 1])
    chosen, way, far = chosen[far > 0], way[far > 0], far[far > 0]
    along = way / far[:, None]
    return Asks(
        segment=np.repeat(chosen[:, None], 2, axis=1),
        t=np.tile([0.0, 1.0], (len(chosen), 1)),
        normal=np.stack([-along, along], axis=1),
        lack=-SHRINKING * far,
        weight=np.full(len(chosen), FOLDING),
    )


def shifts(net: Net, asks: Asks, drawn: Floats, rest: Floats, rounds: int = 12) -> Floats:
    """Shape (movable, 2): the least shifts that meet what is asked, or come nearest to it.

    Args:
        net: the curves as they are.
        asks: what is asked of them.
        drawn: shape (movable, 2), how far each point already is from where it was drawn.
        rest: shape (movable, 2), how far it is from where it lay in the shape that the curves keep to.
        rounds: at most so many until it is clear which requirements press.
    """
    count = net.movable
    place, shape = _resistance(net)
    resistance = csc_array(place + shape)
    rows = _rows(net, asks, count)
    weight = ASK * asks.weight
    pull = -(place @ drawn.T.ravel() + shape @ rest.T.ravel())
    found = np.zeros(2 * count)
    made = np.zeros(len(asks.lack))  # room made so far, row by row
    for _ in range(rounds):
        # A requirement that has room to spare must not pull: only those still short count in this round.
        pressing: Bools = asks.lack > made
        chosen = rows[np.flatnonzero(pressing)]
        scaled = chosen.T.tocsr() * weight[pressing][None, :]
        matrix = csc_array(resistance + scaled @ chosen)
        # Symmetric and positive: an order of elimination for such, without pivoting, keeps the factors sparse.
        goal = splu(
            matrix, permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0, options={"SymmetricMode": True}
        ).solve(pull + scaled @ asks.lack[pressing])
        way = goal - found
        gain = rows @ way
        bent, against = resistance @ way, float(way @ (resistance @ found - pull))
        # Not all the way: on it others may begin to press, which this round did not know of.
        part = _part(asks.lack - made, gain, weight, (against, float(way @ bent)))
        found, made = found + part * way, made + part * gain
        if part * float(np.abs(way).max(initial=0.0)) < CLEAR:
            break
    return np.stack([found[:count], found[count:]], axis=1)


def _part(lack: Floats, gain: Floats, weight: Floats, curves: tuple[float, float]) -> float:
    """How much of a way to go: as far as what is lacking and the curves' resistance together grow less.

    Args:
        lack: of each row, mm.
        gain: of each row on the whole way, mm.
        weight: of each row.
        curves: slope of the curves' resistance along the way, at its beginning and by how much that grows.
    """

    def slope(part: float) -> float:
        missed = np.maximum(lack - part * gain, 0.0)
        return curves[0] + part * curves[1] - float((weight * missed * gain).sum())

    if slope(1.0) <= 0:
        return 1.0
    low, high = 0.0, 1.0
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        low, high = (middle, high) if slope(middle) < 0 else (low, middle)
    return low or high


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


def _resistance(net: Net) -> tuple[csc_array, csc_array]:
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
    handles = net.handles[segment]
    still = weights * np.sqrt(STAY * length)[:, None]
    place = _form([(still, handles), (still, handles + count)], count)
    parts = []
    for weight, direction in ((TURN, across), (STRETCH, along)):
        both = [slopes * (np.sqrt(weight * length) * direction[:, axis])[:, None] for axis in (0, 1)]
        parts.append((np.hstack(both), np.hstack([handles, handles + count])))
    parts.append(_joints(net, count))
    return csc_array(place + 1e-9 * _eye(2 * count)), _form(parts, count)


def _form(parts: Sequence[tuple[Floats, Ints]], count: int) -> csc_array:
    """Sum of the squares of rows, each with its values and columns."""
    total = csc_array((2 * count, 2 * count))
    for values, columns in parts:
        rows = np.repeat(np.arange(len(values)), values.shape[1])
        part = coo_array((values.ravel(), (rows, columns.ravel())), shape=(len(values), 2 * count)).tocsr()
        total = total + part.T @ part
    return csc_array(total)


def _eye(size: int) -> csc_array:
    return coo_array((np.ones(size), (np.arange(size), np.arange(size))), shape=(size, size)).tocsc()


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
