"""Parts that were moved aside or resized as a whole: people see the same part, and look for its details within it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.spatial import cKDTree

from artwork.curves import Contour, Floats

NEAREST = 8
"""So many points of edges around a place tell where it was moved."""
MOST_RESIZED = 1.25
"""A part that grew (or shrank) by no more than this factor across or along is the same part of another size (common
practice, no source): a frame that was moved outwards all around, say."""
LEAST_SIZE = 0.5
"""Edges narrower than this, mm, have no size that could be told."""


@dataclass(frozen=True, eq=False)
class Fit:
    """How an edge lies now: moved, and resized across and along.

    Attributes:
        scale, offset: shapes (2,); a place ``p`` of the drawing is at ``scale · p + offset``, mm.
    """

    scale: Floats
    offset: Floats

    @classmethod
    def of(cls, drawn: Contour, now: Contour) -> Fit:
        """The nearest one (least squares, by length of edge) for a contour's knots, one by one the same."""
        way = np.roll(drawn.knots, -1, axis=0) - drawn.knots
        length = np.hypot(way[:, 0], way[:, 1])
        weight = (length + np.roll(length, 1))[:, None]
        total = max(float(weight.sum()), 1e-9)
        middle, middle_now = ((weight * each).sum(axis=0) / total for each in (drawn.knots, now.knots))
        before, after = drawn.knots - middle, now.knots - middle_now
        spread = (weight * before**2).sum(axis=0)
        known = np.ptp(drawn.knots, axis=0) > LEAST_SIZE
        scale = np.where(known, (weight * before * after).sum(axis=0) / np.where(known, spread, 1.0), 1.0)
        scale = np.clip(scale, 1 / MOST_RESIZED, MOST_RESIZED)
        return cls(scale, middle_now - scale * middle)

    def __call__(self, places: Floats) -> Floats:
        """Where places of the drawing are now, shape (n, 2)."""
        return self.scale * places + self.offset


@dataclass(frozen=True, eq=False)
class Aside:
    """Where the surroundings of each point of the edges went.

    Attributes:
        drawn, now: shapes (n, 2), points along the edges.
        scale, offset: shapes (n, 2), of the fit of the edge that each is of.
    """

    drawn: Floats
    now: Floats
    scale: Floats
    offset: Floats

    @classmethod
    def nowhere(cls) -> Aside:
        """Nothing was moved."""
        return cls(np.zeros((1, 2)), np.zeros((1, 2)), np.ones((1, 2)), np.zeros((1, 2)))

    @classmethod
    def of(cls, drawn: Sequence[Contour], now: Sequence[Contour]) -> Aside:
        """From contours that are the same, ring by ring and knot by knot, but for their places."""
        fits = [Fit.of(was, became) for was, became in zip(drawn, now, strict=True)]
        count = [len(each.knots) for each in drawn]
        return cls(
            np.concatenate([each.knots for each in drawn]),
            np.concatenate([each.knots for each in now]),
            np.repeat([fit.scale for fit in fits], count, axis=0),
            np.repeat([fit.offset for fit in fits], count, axis=0),
        )

    def forth(self, places: Floats) -> Floats:
        """Where places of the drawing are now."""
        scale, offset = self._fit(self.drawn, places)
        return places * scale + offset

    def back(self, places: Floats) -> Floats:
        """Where places of what it is now were drawn."""
        scale, offset = self._fit(self.now, places)
        return (places - offset) / scale

    def _fit(self, edges: Floats, places: Floats) -> tuple[Floats, Floats]:
        if not len(places):
            return np.ones_like(places), np.zeros_like(places)
        near = cKDTree(edges).query(places, k=[*range(1, min(NEAREST, len(edges)) + 1)])[1]
        return self.scale[near].mean(axis=1), self.offset[near].mean(axis=1)
