"""Boundary points of a rebuilt region found again on the curves they came from."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from scipy.spatial import cKDTree

from artwork.axis.anatomy import Anatomy
from artwork.curves import Contour, Floats, sampled
from artwork.repair.net import Ints

FINE = 0.005
"""Chords of the curves that are searched, mm."""
SPACING = 0.25
"""Points on straight lines are no farther apart than this, mm."""
NEAREST = 6


def traced_back(anatomy: Anatomy, contours: Sequence[Contour]) -> Anatomy:
    """The anatomy with every boundary point's segment known.

    Where curves touch or cross by a hair the flattened regions are rebuilt and their points lose the segment
    they were on: it is the nearest one that runs in the point's own direction.
    """
    if (anatomy.segment >= 0).all():
        return anatomy
    points, segment, t, way = _samples(contours)
    ring = anatomy.ring
    after = np.roll(np.arange(len(ring)), -1)
    after = np.where(ring[after] == ring, after, np.arange(len(ring)))
    along = _unit(anatomy.points[after] - anatomy.points)
    found = cKDTree(points).query(anatomy.points, k=[*range(1, min(NEAREST, len(points)) + 1)])
    distance, near = np.asarray(found[0]), np.asarray(found[1])
    against = 1 - (way[near] * along[:, None]).sum(axis=2)
    best = (distance + 0.02 * against).argmin(axis=1)
    chosen = near[np.arange(len(ring)), best]
    return replace(anatomy, segment=segment[chosen], share=t[chosen])


def _samples(contours: Sequence[Contour]) -> tuple[Floats, Ints, Floats, Floats]:
    found = sampled(contours, FINE)
    after = np.arange(1, len(found.points) + 1)
    after[found.starts[1:] - 1] = found.starts[:-1]
    way = found.points[after] - found.points
    count = np.maximum(np.ceil(np.hypot(way[:, 0], way[:, 1]) / SPACING), 1).astype(np.int64)
    which = np.repeat(np.arange(len(count)), count)
    share = (np.arange(len(which)) - np.repeat(np.cumsum(count) - count, count)) / count[which]
    ahead = np.where(found.segment[after] == found.segment, found.t[after], 1.0)
    t = found.t[which] + share * (ahead - found.t)[which]
    return found.points[which] + share[:, None] * way[which], found.segment[which], t, _unit(way)[which]


def _unit(vectors: Floats) -> Floats:
    return np.asarray(vectors / np.maximum(np.hypot(vectors[:, 0], vectors[:, 1]), 1e-12)[:, None])
