"""Parts that were moved aside or resized, as a whole or in long stretches: people see the same part, and look for its
details within it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.spatial import cKDTree

from artwork.curves import Contour, Floats
from artwork.repair.net import Net

NEAREST, NEARLY = 12, 0.75
"""So many points of edges at most around a place tell where it was moved: those hardly farther, mm, than the first."""
SPACING = 1.0
"""Edges are looked at every so many mm."""
STRETCH = 6.0
"""What so much of an edge, mm, to both sides of a place went through together was moved aside, not bent."""
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
        rings = [_Ring.of(was, became) for was, became in zip(drawn, now, strict=True)]
        return cls(
            np.concatenate([ring.drawn for ring in rings]),
            np.concatenate([ring.now for ring in rings]),
            np.concatenate([np.broadcast_to(ring.fit.scale, ring.drawn.shape) for ring in rings]),
            np.concatenate([ring.fit.offset + ring.aside() for ring in rings]),
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
        found = cKDTree(edges).query(places, k=[*range(1, min(NEAREST, len(edges)) + 1)])
        far, near = (np.asarray(each) for each in found)
        weight = (far <= far[:, :1] + NEARLY)[..., None]
        total = weight.sum(axis=1)
        return (weight * self.scale[near]).sum(axis=1) / total, (weight * self.offset[near]).sum(
            axis=1
        ) / total


@dataclass(frozen=True, eq=False)
class _Ring:
    """An edge: points along it where it was drawn and where they are now, shapes (n, 2), and its fit."""

    drawn: Floats
    now: Floats
    fit: Fit

    @classmethod
    def of(cls, drawn: Contour, now: Contour) -> _Ring:
        was, became = Net.of((drawn,)), Net.of((now,))
        segment, t = was.along(SPACING)
        return cls(was.places(segment, t), became.places(segment, t), Fit.of(drawn, now))

    def aside(self) -> Floats:
        """Shape (n, 2), mm: how far the stretch around each point is from where the whole edge's fit has it."""
        away = self.now - self.fit(self.drawn)
        step = np.hypot(*(np.roll(self.drawn, -1, axis=0) - self.drawn).T)
        round_it = float(step.sum())
        if round_it <= 2 * STRETCH:
            return np.broadcast_to(away.mean(axis=0), away.shape)
        at = np.cumsum(step) - step
        thrice = np.concatenate([at - round_it, at, at + round_it, [at[0] + 2 * round_it]])
        sums = np.concatenate([np.zeros((1, 2)), np.cumsum(np.tile(away * step[:, None], (3, 1)), axis=0)])
        until, since = (
            np.stack([np.interp(at + way, thrice, sums[:, axis]) for axis in (0, 1)], axis=1)
            for way in (STRETCH, -STRETCH)
        )
        return np.asarray((until - since) / (2 * STRETCH))
