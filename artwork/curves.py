"""Closed curves: lines and cubic Bézier segments, kept as arrays."""

from __future__ import annotations

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
        points = np.vstack([self.knots, self._turning_points()])
        low, high = points.min(axis=0), points.max(axis=0)
        return float(low[0]), float(low[1]), float(high[0]), float(high[1])

    @property
    def area(self) -> float:
        """Signed area inside the curve, exact for cubics; positive counter-clockwise (Green's theorem)."""
        a, d = self.knots, np.roll(self.knots, -1, axis=0)
        total = _cross(a, d).sum() / 2
        bent = ~self.straight
        if bent.any():
            a, d = a[bent], d[bent]
            b, c = self.controls[bent, 0], self.controls[bent, 1]
            u, v, w = b - a, c - a, d - a
            # between cubic and chord: Σ cross(pᵢ, pⱼ) · ½∫(BᵢBⱼ′ − BⱼBᵢ′) over the Bernstein polynomials
            total += ((3 * _cross(u, v) + 3 * _cross(u, w) + 6 * _cross(v, w)) / 20).sum()
        return float(total)

    def reversed(self) -> Contour:
        """The same curve run the other way."""
        return Contour(np.roll(self.knots[::-1], 1, axis=0), self.controls[::-1, ::-1])

    def _turning_points(self) -> Floats:
        """Where the cubics are extreme in x or y, shape (m, 2)."""
        bent = ~self.straight
        a, d = self.knots[bent], np.roll(self.knots, -1, axis=0)[bent]
        b, c = self.controls[bent, 0], self.controls[bent, 1]
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

    def moved(self, matrix: Floats, shift: Floats) -> Contour:
        """The curve under ``p → matrix @ p + shift`` (an affine map takes Béziers to Béziers)."""
        return Contour(self.knots @ matrix.T + shift, self.controls @ matrix.T + shift)

    def polyline(self, tolerance: float) -> Floats:
        """Points along the curve, shape (m, 2), first not repeated; nowhere farther off than ``tolerance``.

        Each cubic is cut into equal parameter steps; their number comes from the bound on a chord's
        distance, ``max|B''| / (8 n²)`` (second derivative of a cubic lies between its two end values).
        """
        ends = np.roll(self.knots, -1, axis=0)
        first, second = self.controls[:, 0], self.controls[:, 1]
        bend = np.maximum(
            np.hypot(*(self.knots - 2 * first + second).T), np.hypot(*(first - 2 * second + ends).T)
        )
        steps = np.where(
            self.straight, 1, np.ceil(np.sqrt(6 * np.nan_to_num(bend) / (8 * tolerance)))
        ).astype(int)
        steps = np.maximum(steps, 1)
        which = np.repeat(np.arange(len(steps)), steps)
        t = (np.arange(len(which)) - np.repeat(np.cumsum(steps) - steps, steps)) / steps[which]
        t = t[:, None]
        a, d = self.knots[which], ends[which]
        b, c = first[which], second[which]
        cubic = (1 - t) ** 3 * a + 3 * (1 - t) ** 2 * t * b + 3 * (1 - t) * t**2 * c + t**3 * d
        return np.where(self.straight[which][:, None], a, cubic)


def _cross(a: Floats, b: Floats) -> Floats:
    """z of the cross product of row vectors."""
    return np.asarray(a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0])
