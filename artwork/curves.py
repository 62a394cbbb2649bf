"""Closed curves: lines and cubic Bézier segments, kept as arrays."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Contour:
    """One closed curve: segment ``i`` runs from ``knots[i]`` to ``knots[i + 1]``, the last back to the first.

    Attributes:
        knots: shape (n, 2), the points the curve passes through, in outline units, y upwards.
        controls: shape (n, 2, 2), the two cubic control points of each segment; NaN for a straight one.
    """

    knots: Floats
    controls: Floats

    @property
    def straight(self) -> NDArray[np.bool_]:
        """Shape (n,): which segments are straight lines."""
        return np.isnan(self.controls[:, 0, 0])

    @property
    def bounds(self) -> tuple[float, float, float, float]:
        """Least x, least y, greatest x, greatest y of the curve itself (not of its control points)."""
        return bounds_of((self,))

    @property
    def area(self) -> float:
        """Signed area inside the curve, exact for cubics; positive counter-clockwise (Green's theorem)."""
        return float(areas_of((self,))[0])

    def reversed(self) -> Contour:
        """The same curve run the other way."""
        return Contour(np.roll(self.knots[::-1], 1, axis=0), self.controls[::-1, ::-1])

    def moved(self, matrix: Floats, shift: Floats) -> Contour:
        """The curve under ``p → matrix @ p + shift`` (an affine map takes Béziers to Béziers)."""
        return Contour(self.knots @ matrix.T + shift, self.controls @ matrix.T + shift)

    def polyline(self, tolerance: float) -> Floats:
        """Points along the curve, shape (m, 2), first not repeated, within ``tolerance``."""
        return sampled([self], tolerance).points

    @property
    def beziers(self) -> Floats:
        """Shape (n, 4, 2): knot, two control points (NaN where straight), next knot of each segment."""
        ends = np.roll(self.knots, -1, axis=0)
        return np.concatenate([self.knots[:, None], self.controls, ends[:, None]], axis=1)


def stretches(beziers: Floats, start: Floats, end: Floats) -> tuple[Floats, Floats, Floats, Floats]:
    """The four Bézier points, each (n, 2), of the stretch from ``start`` to ``end`` of each cubic."""
    a, b, c, d = (beziers[:, i] for i in range(4))

    def blossom(*at: Floats) -> Floats:
        u, v, w = (t[:, None] for t in at)
        first, second, third = a + u * (b - a), b + u * (c - b), c + u * (d - c)
        fourth, fifth = first + v * (second - first), second + v * (third - second)
        return np.asarray(fourth + w * (fifth - fourth))

    return (
        blossom(start, start, start),
        blossom(start, start, end),
        blossom(start, end, end),
        blossom(end, end, end),
    )


@dataclass(frozen=True, eq=False)
class Samples:
    """Points along several contours, and where on them each lies.

    Attributes:
        points: shape (m, 2).
        segment: shape (m,), which segment each point lies on, counted over all contours.
        t: shape (m,), where on it, 0 (its start) to less than 1.
        starts: shape (contours + 1,), where each contour's points begin, and their number at last.
    """

    points: Floats
    segment: NDArray[np.int64]
    t: Floats
    starts: NDArray[np.int64]


def sampled(contours: Sequence[Contour], tolerance: float) -> Samples:
    """Points along the contours such that no chord between two is farther off than ``tolerance``.

    Each cubic is cut into equal parameter steps; their number comes from the bound on a chord's distance,
    ``max|B''| / (8 n²)`` (the second derivative of a cubic lies between its two end values).
    """
    counts = np.array([len(contour.knots) for contour in contours])
    knots = np.concatenate([contour.knots for contour in contours])
    controls = np.concatenate([contour.controls for contour in contours])
    following = np.arange(1, len(knots) + 1)
    lasts = np.cumsum(counts)
    following[lasts - 1] = lasts - counts
    ends, first, second = knots[following], controls[:, 0], controls[:, 1]
    straight = np.isnan(first[:, 0])
    bend = np.maximum(np.hypot(*(knots - 2 * first + second).T), np.hypot(*(first - 2 * second + ends).T))
    steps = np.where(straight, 1, np.ceil(np.sqrt(6 * np.nan_to_num(bend) / (8 * tolerance))))
    steps = np.maximum(steps, 1).astype(np.int64)
    segment = np.repeat(np.arange(len(steps)), steps)
    done = np.cumsum(steps)
    t = (np.arange(len(segment)) - np.repeat(done - steps, steps)) / steps[segment]
    points = knots[segment]
    bent = np.flatnonzero(t > 0)  # where t is 0 the knot itself stands
    u, at = t[bent][:, None], segment[bent]
    points[bent] = (
        (1 - u) ** 3 * knots[at]
        + 3 * (1 - u) ** 2 * u * first[at]
        + 3 * (1 - u) * u**2 * second[at]
        + u**3 * ends[at]
    )
    return Samples(points, segment, t, np.append(0, done[lasts - 1]))


def bounds_of(contours: Iterable[Contour]) -> tuple[float, float, float, float]:
    """Least x, least y, greatest x, greatest y of the curves themselves, all looked at together."""
    contours = tuple(contours)
    knots = np.concatenate([contour.knots for contour in contours])
    ends = np.concatenate([np.roll(contour.knots, -1, axis=0) for contour in contours])
    controls = np.concatenate([contour.controls for contour in contours])
    bent = ~np.isnan(controls[:, 0, 0])
    points = np.vstack([knots, _turning_points(knots[bent], controls[bent], ends[bent])])
    low, high = points.min(axis=0), points.max(axis=0)
    return float(low[0]), float(low[1]), float(high[0]), float(high[1])


def areas_of(contours: Sequence[Contour]) -> Floats:
    """Shape (n,): the signed area inside each contour, exact for cubics, counter-clockwise positive."""
    if not contours:
        return np.empty(0)
    beziers = np.concatenate([contour.beziers for contour in contours])
    counts = np.array([len(contour.knots) for contour in contours])
    starts = np.cumsum(counts) - counts
    # measured from each contour's own start, so that far-off coordinates cost no digits
    beziers = beziers - np.repeat(beziers[starts, 0], counts, axis=0)[:, None]
    a, b, c, d = (beziers[:, i] for i in range(4))
    # between cubic and chord: Σ cross(pᵢ, pⱼ) · ½∫(BᵢBⱼ′ − BⱼBᵢ′) over the Bernstein polynomials
    u, v, w = b - a, c - a, d - a
    bulge = (3 * _cross(u, v) + 3 * _cross(u, w) + 6 * _cross(v, w)) / 20
    return np.asarray(np.add.reduceat(_cross(a, d) / 2 + np.nan_to_num(bulge), starts))


def _turning_points(a: Floats, controls: Floats, d: Floats) -> Floats:
    """Where the cubics from ``a`` to ``d`` are extreme in x or y, shape (m, 2)."""
    b, c = controls[:, 0], controls[:, 1]
    # B'(t)/3 = p t² + q t + r in each coordinate
    p, q, r = d - a + 3 * (b - c), 2 * (a - 2 * b + c), b - a
    with np.errstate(divide="ignore", invalid="ignore"):
        root = np.sqrt(q * q - 4 * p * r)
        # the numerically stable pair of roots; the second also serves where p is 0
        far = -(q + np.where(q < 0, -root, root)) / 2
        times = np.concatenate([far / p, r / far])
    times = np.where((times > 0) & (times < 1), times, 0.0)
    t = times[:, :, None]
    a, b, c, d = (np.concatenate([each, each])[:, None, :] for each in (a, b, c, d))
    found = (1 - t) ** 3 * a + 3 * (1 - t) ** 2 * t * b + 3 * (1 - t) * t**2 * c + t**3 * d
    return np.asarray(found.reshape(-1, 2))


def _cross(a: Floats, b: Floats) -> Floats:
    """z of the cross product of row vectors."""
    return np.asarray(a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0])
