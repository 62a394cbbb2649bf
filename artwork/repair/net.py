"""All curves of an outline as one set of points that can be moved: knots and control points."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from artwork.curves import Contour, Floats, stretches

Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]

SMOOTH_TURN = 0.35
"""Segments that join under a smaller angle than this (radians) are one curve: it stays without a corner."""
FEWEST = 4
"""No contour is left with fewer segments than this."""
TINY = 1e-12


@dataclass(frozen=True, eq=False)
class Net:
    """Segment ``i`` runs from ``knots[i]`` to ``knots[following[i]]``; mm.

    Attributes:
        knots: shape (n, 2).
        controls: shape (n, 2, 2); NaN where straight.
        following: shape (n,).
        lengths: how many segments each contour has.
    """

    knots: Floats
    controls: Floats
    following: Ints
    lengths: Ints

    @classmethod
    def of(cls, contours: Sequence[Contour]) -> Net:
        """The curves of some contours."""
        lengths = np.array([len(contour.knots) for contour in contours], np.int64)
        return cls(
            np.concatenate([contour.knots for contour in contours]),
            np.concatenate([contour.controls for contour in contours]),
            _following(lengths),
            lengths,
        )

    def contours(self) -> tuple[Contour, ...]:
        """The same curves, contour by contour."""
        starts = np.cumsum(self.lengths)[:-1]
        return tuple(
            Contour(knots, controls)
            for knots, controls in zip(
                np.split(self.knots, starts), np.split(self.controls, starts), strict=True
            )
        )

    def halved(self, segments: Ints) -> Net:
        """The same curves with the chosen segments cut in two at their middles."""
        pieces = self.beziers
        a, b, c, d = (pieces[segments, k] for k in range(4))
        ab, bc, cd = (a + b) / 2, (b + c) / 2, (c + d) / 2
        abc, bcd = (ab + bc) / 2, (bc + cd) / 2
        middle = (abc + bcd) / 2
        bent = self.is_bent[segments][:, None, None]
        controls = self.controls.copy()
        controls[segments] = np.where(bent, np.stack([ab, abc], axis=1), np.nan)
        second = np.where(bent, np.stack([bcd, cd], axis=1), np.nan)
        lengths = self.lengths + np.bincount(self.ring[segments], minlength=len(self.lengths))
        knots = np.insert(self.knots, segments + 1, middle, axis=0)
        controls = np.insert(controls, segments + 1, second, axis=0)
        return Net(knots, controls, _following(lengths), lengths)

    def collapsed(self, segments: Ints) -> Net:
        """Without the chosen segments: both their ends become one knot, half way."""
        knots = self.knots.copy()
        after = self.following[segments]
        knots[after] = (self.knots[segments] + self.knots[after]) / 2
        lengths = self.lengths - np.bincount(self.ring[segments], minlength=len(self.lengths))
        knots, controls = (np.delete(each, segments, axis=0) for each in (knots, self.controls))
        return Net(knots, controls, _following(lengths), lengths)

    def blunted(self, knots: Ints, before: Floats, after: Floats) -> Net:
        """With the chosen corners cut off straight: a point gets an end with two corners, which can part.

        Args:
            knots: shape (m,), numbers of the corners in order; no two are neighbours.
            before, after: shapes (m,), where the segments that come to each and leave it are cut, as shares of them.
        """
        pieces, comes = self.beziers, self.before[knots]
        zero, one = np.zeros(len(knots)), np.ones(len(knots))
        _, first, second, end = stretches(pieces[comes], zero, before)
        start, third, fourth, _ = stretches(pieces[knots], after, one)
        cut, straight = self.controls.copy(), np.full((len(knots), 2, 2), np.nan)
        for segments, inner, outer in ((comes, first, second), (knots, third, fourth)):
            bent = self.is_bent[segments][:, None, None]
            cut[segments] = np.where(bent, np.stack([inner, outer], axis=1), np.nan)
        moved = self.knots.copy()
        moved[knots] = start
        lengths = self.lengths + np.bincount(self.ring[knots], minlength=len(self.lengths))
        corners, controls = np.insert(moved, knots, end, axis=0), np.insert(cut, knots, straight, axis=0)
        return Net(corners, controls, _following(lengths), lengths)

    def trimmed(self, start: Floats, end: Floats) -> Net:
        """With every segment from one share of it to another alone; what meets at a joint then meets half way.

        Args:
            start, end: shapes (n,); 0 and 1 where nothing is cut off.
        """
        shorter = np.flatnonzero((start > 0) | (end < 1))
        stretch = np.stack(stretches(self.beziers[shorter], start[shorter], end[shorter]), axis=1)
        pieces = self.beziers.copy()
        pieces[shorter] = stretch
        joints = np.unique(np.concatenate([shorter, self.following[shorter]]))
        knots = self.knots.copy()
        knots[joints] = (pieces[self.before[joints], 3] + pieces[joints, 0]) / 2
        controls = self.controls.copy()
        beside = np.unique(np.concatenate([joints, self.before[joints]]))
        beside = beside[self.is_bent[beside]]
        controls[beside, 0] = pieces[beside, 1] + knots[beside] - pieces[beside, 0]
        controls[beside, 1] = pieces[beside, 2] + knots[self.following[beside]] - pieces[beside, 3]
        return Net(knots, controls, self.following, self.lengths)

    def collapsible(self, segments: Ints) -> Ints:
        """Those of the segments that can be taken out: no two neighbours, and enough left of each contour."""
        left = self.lengths.copy()
        chosen: list[int] = []
        taken: set[int] = set()
        for number in segments[np.argsort(self.segment_lengths[segments])].tolist():
            near = {number, int(self.following[number])}
            if left[self.ring[number]] > FEWEST and not near & taken and number not in taken:
                chosen.append(number)
                left[self.ring[number]] -= 1
                taken |= near
        return np.sort(np.array(chosen, np.int64))

    @cached_property
    def ring(self) -> Ints:
        """Shape (n,): number of the contour that each knot, and the segment that begins there, is of."""
        return np.repeat(np.arange(len(self.lengths)), self.lengths)

    @cached_property
    def owner(self) -> Ints:
        """Shape (movable,): number of the contour that each point is of."""
        return np.concatenate([self.ring, np.repeat(self.ring[self.bent], 2)])

    @cached_property
    def bent(self) -> Ints:
        """Numbers of the segments that are cubics."""
        return np.flatnonzero(~np.isnan(self.controls[:, 0, 0]))

    @cached_property
    def handles(self) -> Ints:
        """Shape (n, 4): the four movable points of each segment; straight ones have only their ends, twice.

        Knots come first, then two control points of each cubic.
        """
        n = len(self.knots)
        found = np.stack([np.arange(n), np.arange(n), self.following, self.following], axis=1)
        first = n + 2 * np.arange(len(self.bent))
        found[self.bent, 1], found[self.bent, 2] = first, first + 1
        return found

    @property
    def movable(self) -> int:
        """How many knots and control points there are."""
        return len(self.knots) + 2 * len(self.bent)

    @cached_property
    def points(self) -> Floats:
        """Shape (movable, 2)."""
        return np.concatenate([self.knots, self.controls[self.bent].reshape(-1, 2)])

    def moved(self, shift: Floats) -> Net:
        """With every movable point shifted, shape (movable, 2)."""
        n = len(self.knots)
        controls = self.controls.copy()
        controls[self.bent] += shift[n:].reshape(-1, 2, 2)
        return Net(self.knots + shift[:n], controls, self.following, self.lengths)

    def evened(self, shift: Floats, longest: float) -> Floats:
        """Shifts in which control points of curves no longer than ``longest`` go with their knots: no curve is
        so short that it could give way, and folds instead."""
        chosen = self.bent[self.segment_lengths[self.bent] < longest]
        a, b, c, d = self.handles[chosen].T
        found = shift.copy()
        found[b], found[c] = (2 * shift[a] + shift[d]) / 3, (shift[a] + 2 * shift[d]) / 3
        return found

    def weights(self, segment: Ints, t: Floats) -> Floats:
        """Shape (m, 4): how much a point at ``t`` follows each of its segment's four handles."""
        s = 1 - t
        cubic = np.stack([s**3, 3 * s * s * t, 3 * s * t * t, t**3], axis=1)
        line = np.stack([s, 0 * t, t, 0 * t], axis=1)
        return np.where(self.is_bent[segment][:, None], cubic, line)

    @cached_property
    def is_bent(self) -> Bools:
        """Shape (n,): which segments are cubics."""
        return ~np.isnan(self.controls[:, 0, 0])

    @cached_property
    def beziers(self) -> Floats:
        """Shape (n, 4, 2); straight segments as cubics of even speed."""
        a, d = self.knots, self.knots[self.following]
        third = (d - a) / 3
        b = np.where(self.is_bent[:, None], self.controls[:, 0], a + third)
        c = np.where(self.is_bent[:, None], self.controls[:, 1], d - third)
        return np.stack([a, b, c, d], axis=1)

    @cached_property
    def before(self) -> Ints:
        """Shape (n,): the segment that comes to each knot."""
        found = np.empty_like(self.following)
        found[self.following] = np.arange(len(found))
        return found

    def along(self, spacing: float, fewest: int = 1) -> tuple[Ints, Floats]:
        """Segments and places on them, in order, about every ``spacing`` mm; at least ``fewest`` on each segment."""
        count = np.maximum(np.ceil(self.segment_lengths / spacing), fewest).astype(np.int64)
        segment = np.repeat(np.arange(len(count)), count)
        return segment, (np.arange(len(segment)) - np.repeat(np.cumsum(count) - count, count)) / count[
            segment
        ]

    def places(self, segment: Ints, t: Floats) -> Floats:
        """Points on the curves, shape (m, 2)."""
        s = 1 - t
        bernstein = np.stack([s**3, 3 * s * s * t, 3 * s * t * t, t**3], axis=1)
        return np.asarray((bernstein[:, :, None] * self.beziers[segment]).sum(axis=1))

    def velocities(self, segment: Ints, t: Floats) -> Floats:
        """First derivatives, shape (m, 2)."""
        s = 1 - t
        bernstein = 3 * np.stack([s * s, 2 * s * t, t * t], axis=1)
        return np.asarray((bernstein[:, :, None] * np.diff(self.beziers[segment], axis=1)).sum(axis=1))

    @cached_property
    def segment_lengths(self) -> Floats:
        """Shape (n,): nearly the length of each segment."""
        points = self.beziers
        chord = np.hypot(*(points[:, 3] - points[:, 0]).T)
        polygon = np.hypot(*np.moveaxis(np.diff(points, axis=1), 2, 0)).sum(axis=1)
        return np.asarray((chord + polygon) / 2)

    @cached_property
    def leaving(self) -> Floats:
        """Shape (n, 2): unit direction in which each segment leaves its first knot."""
        return _direction(self.beziers[:, 0], self.beziers[:, 1:])

    @cached_property
    def arriving(self) -> Floats:
        """Shape (n, 2): unit direction in which each segment comes to its last knot."""
        return -_direction(self.beziers[:, 3], self.beziers[:, 2::-1])

    @cached_property
    def smooth(self) -> Bools:
        """Shape (n,): whether segment ``i`` joins the following one without a corner."""
        after = self.leaving[self.following]
        turn = np.abs(np.arctan2(_cross(self.arriving, after), (self.arriving * after).sum(axis=1)))
        return np.asarray(turn < SMOOTH_TURN)


def _following(lengths: Ints) -> Ints:
    """Which segment comes after each, in contours of so many."""
    following = np.arange(1, int(lengths.sum()) + 1)
    ends = np.cumsum(lengths)
    following[ends - 1] = ends - lengths
    return following


def _direction(start: Floats, towards: Floats) -> Floats:
    """Unit direction from ``start`` to the first of the points ``towards`` (n, k, 2) that is not the same."""
    way = towards - start[:, None]
    length = np.hypot(way[..., 0], way[..., 1])
    first = (length > 1e-7).argmax(axis=1)
    row = np.arange(len(start))
    return np.asarray(way[row, first] / np.maximum(length[row, first], TINY)[:, None])


def _cross(a: Floats, b: Floats) -> Floats:
    return np.asarray(a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0])
