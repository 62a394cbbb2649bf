"""Curves of many short pieces → the same curves in fewer.

A stroker leaves dozens of pieces where one cubic would do. Neighbouring pieces that run on smoothly are
merged in pairs, and pairs of pairs, as long as one cubic with the same end tangents stays within the
tolerance of the original (the idea of P. J. Schneider, "An algorithm for automatically fitting digitized
curves", Graphics Gems, 1990). All pairs of a round are fitted at once.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from artwork.curves import Contour, Floats

_SMOOTH = np.cos(np.radians(1.0))
"""Pieces whose tangents differ by less than this run on smoothly."""
_MOST_TURN = np.cos(np.radians(100.0))
"""One cubic is not asked to turn further than this."""
_FIT_POINTS = 9
_PIECE_POINTS = 8
_IMPROVEMENTS = 3


@dataclass(eq=False)
class _Pieces:
    """All pieces of all contours: Bézier points (n, 4, 2), whether straight, contour, original points.

    ``first`` and ``last`` say which of ``samples`` lie on each piece.
    """

    beziers: Floats
    straight: NDArray[np.bool_]
    contour: NDArray[np.int64]
    first: NDArray[np.int64]
    last: NDArray[np.int64]
    samples: Floats


def compacted(contours: Sequence[Contour], tolerances: Sequence[float]) -> list[Contour]:
    """The contours with as few cubics as pairwise merging finds within the tolerance of each."""
    if not contours:
        return []
    pieces = _taken_apart(contours)
    allowed = np.array(tolerances)
    while True:
        left = _pairs(pieces)
        if not len(left):
            break
        merged, fits = _fitted(pieces, left, allowed[pieces.contour[left]])
        if not fits.any():
            break
        pieces = _merged(pieces, left[fits], merged[fits])
    return _put_together(pieces, len(contours))


def _taken_apart(contours: Sequence[Contour]) -> _Pieces:
    knots = np.concatenate([c.knots for c in contours])
    ends = np.concatenate([np.roll(c.knots, -1, axis=0) for c in contours])
    controls = np.concatenate([c.controls for c in contours])
    straight = np.isnan(controls[:, 0, 0])
    controls = np.where(straight[:, None, None], np.stack([knots, ends], axis=1), controls)
    beziers = np.concatenate([knots[:, None], controls, ends[:, None]], axis=1)
    t = np.arange(_PIECE_POINTS) / _PIECE_POINTS
    samples = _at(beziers, np.broadcast_to(t, (len(beziers), _PIECE_POINTS))).reshape(-1, 2)
    index = np.arange(len(knots)) * _PIECE_POINTS
    contour = np.repeat(np.arange(len(contours)), [len(c.knots) for c in contours])
    return _Pieces(beziers, straight, contour, index, index + _PIECE_POINTS - 1, samples)


def _pairs(pieces: _Pieces) -> NDArray[np.int64]:
    """The left piece of each pair to be tried: every second one of a run that goes on smoothly."""
    tangent_in, tangent_out = _tangents(pieces.beziers)
    smooth = (
        (pieces.contour[:-1] == pieces.contour[1:])
        & ~pieces.straight[:-1]
        & ~pieces.straight[1:]
        & ((tangent_out[:-1] * tangent_in[1:]).sum(axis=1) > _SMOOTH)
        & ((tangent_in[:-1] * tangent_out[1:]).sum(axis=1) > _MOST_TURN)
    )
    joint = np.flatnonzero(smooth)
    if not len(joint):
        return joint
    starts = np.flatnonzero(np.diff(joint, prepend=-2) > 1)
    within = np.arange(len(joint)) - np.repeat(starts, np.diff(starts, append=len(joint)))
    return np.asarray(joint[within % 2 == 0])


def _tangents(beziers: Floats) -> tuple[Floats, Floats]:
    """Unit tangents at both ends; where a handle has no length the next point serves."""
    start, end = beziers[:, 1] - beziers[:, 0], beziers[:, 3] - beziers[:, 2]
    chord = beziers[:, 3] - beziers[:, 0]
    found = []
    for handle, other in ((start, beziers[:, 2] - beziers[:, 0]), (end, beziers[:, 3] - beziers[:, 1])):
        size = np.hypot(*chord.T)[:, None] * 1e-9
        direction = np.where(np.hypot(*handle.T)[:, None] > size, handle, other)
        direction = np.where(np.hypot(*direction.T)[:, None] > size, direction, chord)
        found.append(direction / np.maximum(np.hypot(*direction.T), 1e-300)[:, None])
    return found[0], found[1]


def _fitted(pieces: _Pieces, left: NDArray[np.int64], tolerance: Floats) -> tuple[Floats, NDArray[np.bool_]]:
    """One cubic for each pair, and whether it stays within the tolerance of the points between."""
    right = left + 1
    first, last = pieces.first[left], pieces.last[right]
    steps = np.linspace(0, 1, _FIT_POINTS)[None, 1:-1]
    index = np.round(first[:, None] + (last + 1 - first)[:, None] * steps).astype(np.int64)
    points = pieces.samples[np.minimum(index, last[:, None])]
    a, d = pieces.beziers[left, 0], pieces.beziers[right, 3]
    tangent, _ = _tangents(pieces.beziers[left])
    _, leaving = _tangents(pieces.beziers[right])
    t, length = _by_length(a, points, d)
    third = length[:, None] / 3
    beziers = np.stack([a, a + third * tangent, d - third * leaving, d], axis=1)
    for _ in range(_IMPROVEMENTS):
        beziers, t = _adjusted(beziers, tangent, leaving, points, t)
    t = _nearer(beziers, points, t)
    off = np.hypot(*np.moveaxis(_at(beziers, t) - points, 2, 0)).max(axis=1)
    forward = ((beziers[:, 1] - a) * tangent).sum(axis=1) > 0
    backward = ((d - beziers[:, 2]) * leaving).sum(axis=1) > 0
    return beziers, (off < tolerance) & forward & backward


def _by_length(a: Floats, points: Floats, d: Floats) -> tuple[Floats, Floats]:
    """Parameters in proportion to the length along the points, and the whole length."""
    chain = np.concatenate([a[:, None], points, d[:, None]], axis=1)
    along = np.cumsum(np.hypot(*np.moveaxis(np.diff(chain, axis=1), 2, 0)), axis=1)
    return along[:, :-1] / np.maximum(along[:, -1:], 1e-300), along[:, -1]


def _adjusted(
    beziers: Floats, tangent: Floats, leaving: Floats, points: Floats, t: Floats
) -> tuple[Floats, Floats]:
    """One Gauss–Newton step of the two handle lengths, on the distances across the curve.

    Distances along it are no error, and counting them makes the usual alternation creep.
    """
    t = _nearer(beziers, points, t)
    across = _velocity(beziers, t)[:, :, ::-1] * (-1.0, 1.0)
    across /= np.maximum(np.hypot(*np.moveaxis(across, 2, 0)), 1e-300)[:, :, None]
    off = ((points - _at(beziers, t)) * across).sum(axis=2)
    u = 3 * (1 - t) ** 2 * t * (across * tangent[:, None]).sum(axis=2)
    v = -3 * (1 - t) * t**2 * (across * leaving[:, None]).sum(axis=2)
    uu, uv, vv, ur, vr = ((x * y).sum(axis=1) for x, y in ((u, u), (u, v), (v, v), (u, off), (v, off)))
    det = uu * vv - uv * uv
    det = np.where(np.abs(det) > 1e-12 * uu * vv, det, np.inf)
    changed = beziers.copy()
    changed[:, 1] += ((ur * vv - vr * uv) / det)[:, None] * tangent
    changed[:, 2] -= ((vr * uu - ur * uv) / det)[:, None] * leaving
    return changed, t


def _nearer(beziers: Floats, points: Floats, t: Floats) -> Floats:
    """One Newton step of each parameter towards the foot of its point."""
    a, b, c, d = (beziers[:, None, i] for i in range(4))
    u = t[:, :, None]
    away = _at(beziers, t) - points
    first = _velocity(beziers, t)
    second = 6 * ((1 - u) * (c - 2 * b + a) + u * (d - 2 * c + b))
    slope = (first * first).sum(axis=2) + (away * second).sum(axis=2)
    step = (away * first).sum(axis=2) / np.where(np.abs(slope) > 1e-300, slope, np.inf)
    return np.asarray(np.clip(t - step, 0.0, 1.0))


def _velocity(beziers: Floats, t: Floats) -> Floats:
    """First derivatives (n, k, 2)."""
    a, b, c, d = (beziers[:, None, i] for i in range(4))
    u = t[:, :, None]
    return np.asarray(3 * ((1 - u) ** 2 * (b - a) + 2 * (1 - u) * u * (c - b) + u**2 * (d - c)))


def _at(beziers: Floats, t: Floats) -> Floats:
    """Points (n, k, 2) of n cubics at k parameters each."""
    u = t[:, :, None]
    a, b, c, d = (beziers[:, None, i] for i in range(4))
    return np.asarray((1 - u) ** 3 * a + 3 * (1 - u) ** 2 * u * b + 3 * (1 - u) * u**2 * c + u**3 * d)


def _merged(pieces: _Pieces, left: NDArray[np.int64], beziers: Floats) -> _Pieces:
    kept = np.ones(len(pieces.straight), bool)
    kept[left + 1] = False
    all_beziers, last = pieces.beziers.copy(), pieces.last.copy()
    all_beziers[left] = beziers
    last[left] = pieces.last[left + 1]
    return _Pieces(
        all_beziers[kept],
        pieces.straight[kept],
        pieces.contour[kept],
        pieces.first[kept],
        last[kept],
        pieces.samples,
    )


def _put_together(pieces: _Pieces, count: int) -> list[Contour]:
    knots = pieces.beziers[:, 0]
    controls = pieces.beziers[:, 1:3].copy()
    controls[pieces.straight] = np.nan
    cuts = np.searchsorted(pieces.contour, np.arange(1, count))
    parts = zip(np.split(knots, cuts), np.split(controls, cuts), strict=True)
    return [Contour(a, b) for a, b in parts]
