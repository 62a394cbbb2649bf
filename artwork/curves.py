"""Closed curves: lines and cubic Bézier segments, kept as arrays."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Contour:
    """One closed curve. Segment ``i`` runs from ``knots[i]`` to ``knots[i + 1]``, the last one back to the first.

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

    def moved(self, matrix: Floats, shift: Floats) -> Contour:
        """The curve under ``p → matrix @ p + shift`` (an affine map takes Béziers to Béziers)."""
        return Contour(self.knots @ matrix.T + shift, self.controls @ matrix.T + shift)

    def polyline(self, tolerance: float) -> Floats:
        """Points along the curve, shape (m, 2), first point not repeated; nowhere farther off than ``tolerance``.

        Each cubic is cut into equal parameter steps; their number comes from the bound on a chord's
        distance, ``max|B''| / (8 n²)`` (second derivative of a cubic lies between its two end values).
        """
        ends = np.roll(self.knots, -1, axis=0)
        first, second = self.controls[:, 0], self.controls[:, 1]
        bend = np.maximum(
            np.hypot(*(self.knots - 2 * first + second).T), np.hypot(*(first - 2 * second + ends).T)
        )
        steps = np.where(self.straight, 1, np.ceil(np.sqrt(6 * np.nan_to_num(bend) / (8 * tolerance)))).astype(int)
        steps = np.maximum(steps, 1)
        which = np.repeat(np.arange(len(steps)), steps)
        t = (np.arange(len(which)) - np.repeat(np.cumsum(steps) - steps, steps)) / steps[which]
        t = t[:, None]
        a, d = self.knots[which], ends[which]
        b, c = first[which], second[which]
        cubic = (1 - t) ** 3 * a + 3 * (1 - t) ** 2 * t * b + 3 * (1 - t) * t**2 * c + t**3 * d
        return np.where(self.straight[which][:, None], a, cubic)
