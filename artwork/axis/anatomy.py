"""What is known about an outline once its axis has been found: values in outline units, for any placement."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
import shapely
from numpy.typing import NDArray

from artwork.curves import Floats
from artwork.shapes import beside_on_ring, convex_hull, filled, ring_shapes

Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]

STRAIGHT, PARABOLA, BISECTOR = 0, 1, 2
"""What an axis stretch lies between: two segments, a segment and a point, two points."""


@dataclass(frozen=True, eq=False)
class Climb:
    """From each vertex of the axis the way on which the clearance grows; there is at most one.

    Attributes:
        up: shape (v,), the next vertex; −1 where none is higher.
        length: shape (v,), the way there.
        clearance: shape (v,).
        leaves: shape (v,), whether that way is a corner branch, no stretch of the axis.
        kind, runs: shapes (v,) and (v, 2), that way's kind and base line coordinates, as in :class:`Axis`.
        whole: the ways from before stretches were cut up: fewer vertices, the same corner branches.
    """

    up: Ints
    length: Floats
    clearance: Floats
    leaves: Bools
    kind: NDArray[np.int8]
    runs: Floats
    whole: Climb | None = None

    def scaled(self, factor: float) -> Climb:
        """With all lengths times ``factor``."""
        return replace(
            self, length=self.length * factor, clearance=self.clearance * factor, runs=self.runs * factor
        )

    @cached_property
    def below(self) -> Floats:
        """Shape (v,): longest way down from each vertex through corner branches alone."""
        if self.whole is not None:
            return np.append(self.whole.below, np.zeros(len(self.up) - len(self.whole.up)))
        found = np.zeros(len(self.up))
        corner = np.flatnonzero(self.leaves)
        while len(corner):  # as often as the longest chain of corner branches has links
            up, length = self.up[corner], self.length[corner] + found[corner]
            gained = length > found[up]
            np.maximum.at(found, up[gained], length[gained])
            corner = np.unique(up[gained][self.leaves[up[gained]]])
        return found


@dataclass(frozen=True, eq=False)
class Axis:
    """The medial axis of the carved side (lines) or of the uncarved side (lands), cut into stretches.

    Only parts whose two feet are seen under 120° or more are kept: along them the clearance is half the width
    of a line. What is left out are branches into corners of 60° and more, which a V-bit cuts sharp. Along a
    stretch the clearance never turns: it rises, falls or stays.

    Attributes:
        ends: shape (n, 2), vertex numbers; equal numbers are the same place.
        places: shape (n, 2, 2), both ends.
        clearance: shape (n, 2), at both ends.
        runs: shape (n, 2), each end's coordinate along the stretch's own base line, 0 at the apex.
        kind: shape (n,), STRAIGHT, PARABOLA or BISECTOR.
        headings: shape (n, 2), direction of the axis at both ends, radians.
        region: shape (n,), the piece of art (or of land) each stretch is in.
        taper: shape (n,), number of the taper a stretch belongs to, −1 for none.
        tapers: every taper that ends in a point.
        peak: shape (regions,), largest clearance of each region.
        peak_place: shape (regions, 2), where it is.
        climb: the ways upwards, corner branches among them; of both axes.
        corner_lengths, corner_clearance: shapes (m,) and (m, 2), length and clearance at both ends of the
            corner branches that a bit runs into (for the time this takes).
        feet: shape (n, 2), for both sides the boundary segment (its first point's index in
            :attr:`Anatomy.points`) that each stretch's feet are on, or an end of which they are.
    """

    ends: Ints
    places: Floats
    clearance: Floats
    runs: Floats
    kind: NDArray[np.int8]
    headings: Floats
    region: Ints
    taper: Ints
    tapers: Tapers
    peak: Floats
    peak_place: Floats
    climb: Climb
    corner_lengths: Floats
    corner_clearance: Floats
    feet: Ints

    @cached_property
    def least(self) -> Floats:
        """Shape (n,): smallest clearance along each stretch."""
        return np.asarray(np.minimum(self.clearance[:, 0], self.clearance[:, 1]))

    @cached_property
    def lengths(self) -> Floats:
        """Shape (n,): straight length of each stretch."""
        return np.asarray(np.hypot(*(self.places[:, 1] - self.places[:, 0]).T))


@dataclass(frozen=True, eq=False)
class Tapers:
    """Branches that narrow to a point of less than 60°.

    Attributes:
        tip: shape (k, 2), where the axis ends.
        tip_clearance: shape (k,), what is left of the width there (a rounded point has some).
        root_clearance: shape (k,), half the width where the taper begins.
        length: shape (k,), along the axis.
    """

    tip: Floats
    tip_clearance: Floats
    root_clearance: Floats
    length: Floats


@dataclass(frozen=True, eq=False)
class Anatomy:
    """An outline's axes and flattened boundary, outline units. Made once by :func:`artwork.axis.study`.

    Attributes:
        lines: axis of what is carved.
        lands: axis of what is left standing between carved places.
        points: shape (p, 2), the flattened boundary.
        ring: shape (p,), which ring each point is on.
        ring_piece: shape (rings,), the piece of art each ring bounds.
        ring_land: shape (rings,), the piece of land each ring bounds.
        outer_land: number of the land that surrounds everything.
        error: how far the flattened boundary may lie off the outline.
        centre: the outline's centre, which placements turn about, shape (2,).
        size: width and height of the outline's box.
        pixel: one source pixel, ``None`` for vector art.
        segment, share: shapes (p,), the curve segment of the outline each point is on (counted over all
            contours; −1 where regions were rebuilt) and where on it.
    """

    lines: Axis
    lands: Axis
    points: Floats
    ring: Ints
    ring_piece: Ints
    ring_land: Ints
    outer_land: int
    error: float
    centre: Floats
    size: tuple[float, float]
    pixel: float | None
    segment: Ints
    share: Floats

    @cached_property
    def hull(self) -> Floats:
        """Corners of the convex hull, shape (h, 2), counter-clockwise, first not repeated."""
        return np.asarray(shapely.get_coordinates(convex_hull(self.points))[:-1])

    @cached_property
    def _neighbours(self) -> tuple[Ints, Ints]:
        """Of each point the one before and the one after it on its ring, shapes (p,)."""
        return beside_on_ring(np.bincount(self.ring))

    def turn_at(self, segment: int, place: Floats) -> float:
        """By how much the boundary turns at that end of a segment which is nearer to a place, radians, 0 to π."""
        before, after = self._neighbours
        ends = np.array([segment, after[segment]])
        corner = ends[np.hypot(*(self.points[ends] - place).T).argmin()]
        into = self.points[corner] - self.points[before[corner]]
        out = self.points[after[corner]] - self.points[corner]
        turn = np.arctan2(into[0] * out[1] - into[1] * out[0], into @ out)
        return float(abs(turn))

    @cached_property
    def meetings(self) -> Floats:
        """Shape (m, 2): points at which the boundary meets itself, each once."""
        at = np.sort(self.points[:, 0] + 1j * self.points[:, 1])
        again = np.unique(at[1:][at[1:] == at[:-1]])
        return np.stack([again.real, again.imag], axis=1)

    @cached_property
    def piece_span(self) -> Floats:
        """Longer side of the box around each piece of art, outline units."""
        return self._spans(self.ring_piece)

    @cached_property
    def land_owner(self) -> Ints:
        """The piece of art around each piece of land; −1 for the land around everything."""
        by_size = np.argsort(shapely.area(filled(ring_shapes(self.points, self.ring))))
        found = np.full(int(self.ring_land.max()) + 1, -1)
        # the last that is written is of the land's largest ring, which is the one around it
        found[self.ring_land[by_size]] = self.ring_piece[by_size]
        found[self.outer_land] = -1
        return found

    @cached_property
    def land_span(self) -> Floats:
        """Longer side of the box around each piece of land; infinite for the one around everything."""
        found = self._spans(self.ring_land)
        found[self.outer_land] = np.inf
        return found

    def _spans(self, ring_region: Ints) -> Floats:
        region = ring_region[self.ring]
        count = int(ring_region.max()) + 1
        low, high = np.full((count, 2), np.inf), np.full((count, 2), -np.inf)
        np.minimum.at(low, region, self.points)
        np.maximum.at(high, region, self.points)
        return np.asarray((high - low).max(axis=1))


def share_at(kind: NDArray[np.int8], runs: Floats, clearance: Floats, radius: Floats) -> Floats:
    """Share of each stretch's length, from its first end, at which the clearance is ``radius``; 0 to 1.

    ``t²`` grows evenly with r on parabolas and with r² between points, and t itself with r between segments.

    Args:
        kind: shape (n,). runs, clearance: shape (n, 2), as in :class:`Axis`. radius: shape (n,).
    """
    squared = kind == BISECTOR
    curved = squared | (kind == PARABOLA)
    level = np.where(squared[:, None], clearance**2, clearance)
    target = np.where(squared, radius**2, radius)
    base = np.where(curved[:, None], runs**2, runs)
    gain = level[:, 1] - level[:, 0]
    here = base[:, 0] + (target - level[:, 0]) / np.where(gain == 0, 1.0, gain) * (base[:, 1] - base[:, 0])
    side = np.where(runs.sum(axis=1) < 0, -1.0, 1.0)
    here = np.where(curved, side * np.sqrt(np.maximum(here, 0.0)), here)
    width = runs[:, 1] - runs[:, 0]
    return np.asarray(np.clip((here - runs[:, 0]) / np.where(width == 0, 1.0, width), 0.0, 1.0))
