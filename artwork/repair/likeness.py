"""How much of a drawing a repair keeps: lengths of axes, drawn and carved, compared both ways.

Overlap of areas misleads both ways (a thickened line drawing overlaps itself by half and is fine; a crest without
its emblem overlaps by 98 % and is lost), so what counts is how much of the lines' and the lands' length is still there.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt

import cv2
import numpy as np

from artwork.axis.anatomy import Anatomy, Axis
from artwork.curves import Contour, Floats, bounds_of
from artwork.repair.aside import Aside
from artwork.repair.groups import LEAST_KEPT, SEEN, groups
from artwork.repair.legible import Middles, letters_kept
from artwork.repair.net import Ints
from artwork.repair.values import Likeness

TOLERANCE, OF_SIZE, MOST_TOLERANCE = 0.45, 0.008, 0.9
"""A line is still there where its middle is no farther than this from what is carved, mm: on large drawings this
share of their size, which is as little to be seen (common practice, no source; found by looking at repairs)."""
LEAST_SEEN = 0.2
"""What is narrower than an eye tells apart counts by so much less, down to this share."""
WIDE = 6.0
"""Wood wider than this, mm, is ground, not figure."""
PIXEL = 0.12
SPACING = 0.25
MOST_PIXELS = 6_000_000
FEWEST_ISLANDS = 3
"""So many islands in one part are a figure by themselves: the gaps between spokes, the holes of a lattice."""
LEAST_SHARE = 0.25
"""Of all lines and lands together: a side that has less than this does not make much of the drawing, so that what
it loses here and there is counted as if it had as much."""


def size_of(contours: Sequence[Contour]) -> float:
    """What a drawing measures across, mm: the side of a square of its box's area."""
    left, low, right, high = bounds_of(contours)
    return sqrt((right - left) * (high - low))


def likeness(
    drawn: Sequence[Contour],
    drawn_anatomy: Anatomy,
    now: Sequence[Contour],
    now_anatomy: Anatomy,
    aside: Aside | None = None,
) -> Likeness:
    """Compares two drawings in the same mm.

    Args:
        drawn, now: contours.
        drawn_anatomy, now_anatomy: of each.
        aside: where parts that were moved or resized as a whole, letters and frames say, are looked for.
    """
    grids = _Grids(drawn, now)
    aside = aside or Aside.nowhere()
    before, after = (
        (_samples(each.lines, np.inf), _samples(each.lands, WIDE)) for each in (drawn_anatomy, now_anatomy)
    )
    shares, gone = [], []
    for (lines, lands), later, way in ((before, True, aside.forth), (after, False, aside.back)):
        least = LEAST_SHARE * float(lines.length.sum() + lands.length.sum())
        for samples, carved in ((lines, True), (lands, False)):
            gone.append(grids.lost(samples, way(samples.places), carved=carved, after=later))
            shares.append(_share(samples, gone[-1], least))
    islands = _islands_kept(before[1], gone[1], drawn_anatomy.land_owner)
    lines_kept, lands_kept, lines_true, lands_true = shares
    letters = letters_kept(drawn, now, aside.forth, (before[0], after[0]))
    together = _groups_kept(before[1], gone[1], groups(drawn_anatomy))
    return Likeness(lines_kept, lands_kept, lines_true, lands_true, letters, islands, together)


def _share(samples: _Samples, lost: Floats, least: float) -> float:
    """Share of the samples' length that is not lost.

    Args:
        samples: what was looked for.
        lost: shape (n,), mm of each that is lost.
        least: mm; what is lost here and there counts as a share of at least so much, what is lost as a whole part or
            island as a share of all that there is.
    """
    if not len(lost):
        return 1.0
    own, gone = (np.bincount(samples.region, each) for each in (samples.length, lost))
    total, whole = float(samples.length.sum()), float(gone[gone > 0.5 * own].sum())
    return 1.0 - max(float(lost.sum()) / max(total, least), whole / total)


def _islands_kept(lands: _Samples, lost: Floats, owner: Ints) -> float:
    """Of the islands' length in the part of the drawing that loses most of it, how much is still wood."""
    inside = owner[lands.region] >= 0
    region, length, gone = lands.region[inside], lands.length[inside], lost[inside]
    part = owner[region]
    count = np.bincount(owner[np.unique(region)], minlength=1)
    own, away = (np.bincount(part, each, len(count)) for each in (length, gone))
    many = count >= FEWEST_ISLANDS
    return float(1 - (away[many] / own[many]).max(initial=0.0))


def _groups_kept(lands: _Samples, lost: Floats, group: Ints) -> bool:
    """Whether most islands of each group are still there: half of their wood at least."""
    own, gone = (np.bincount(lands.region, each, len(group)) for each in (lands.length, lost))
    within = group >= 0
    total = np.bincount(group[within])
    kept = np.bincount(group[within], gone[within] <= 0.5 * own[within])
    return bool((kept >= LEAST_KEPT * total).all())


@dataclass(frozen=True, eq=False)
class _Samples(Middles):
    """Points along an axis; each stands for less where hardly anybody sees it.

    Attributes:
        region: shape (n,), the part or the island that it is in.
    """

    region: Ints


class _Grids:
    """Distances to carved and to standing wood, before and after, on one grid."""

    def __init__(self, drawn: Sequence[Contour], now: Sequence[Contour]) -> None:
        left, low, right, high = bounds_of((*drawn, *now))
        self._tolerance = float(np.clip(OF_SIZE * size_of(drawn), TOLERANCE, MOST_TOLERANCE))
        self._pixel = max(PIXEL, float(np.sqrt((right - left + 8) * (high - low + 8) / MOST_PIXELS)))
        self._origin = np.array([left - 4, low - 4])
        self._shape = (int((high - low + 8) / self._pixel) + 1, int((right - left + 8) / self._pixel) + 1)
        self._far = {}
        for after, contours in ((False, drawn), (True, now)):
            mask = self._mask(contours)
            for carved, here in ((True, 1 - mask), (False, mask)):
                self._far[after, carved] = cv2.distanceTransform(here, cv2.DIST_L2, cv2.DIST_MASK_5)

    def _mask(self, contours: Sequence[Contour]) -> np.ndarray:
        grid = np.zeros(self._shape, np.uint8)
        rings = [
            np.rint((contour.polyline(0.03) - self._origin) / self._pixel * 16).astype(np.int32)
            for contour in contours
        ]
        cv2.fillPoly(grid, rings, 1, cv2.LINE_8, 4)
        return grid

    def lost(self, samples: _Samples, places: Floats, *, carved: bool, after: bool) -> Floats:
        """Shape (n,): mm that each sample stands for where the other drawing differs beyond the tolerance, else 0.

        Args:
            samples: what is looked for.
            places: shape (n, 2), where.
            carved: whether it is carved.
            after: whether in the drawing as it is now.
        """
        pixel = np.rint((places - self._origin) / self._pixel).astype(np.int64)
        inside = ((pixel >= 0) & (pixel < self._shape[::-1])).all(axis=1)
        at = np.clip(pixel, 0, np.array(self._shape[::-1]) - 1)
        far = self._far[after, carved][at[:, 1], at[:, 0]] * self._pixel
        return np.asarray(samples.length * np.where(inside, far > self._tolerance, carved))


def _samples(axis: Axis, widest: float) -> _Samples:
    """Points along an axis where it is narrower than ``widest``, and the length each stands for.

    A round part or island has no axis to speak of: its widest place stands for its width.
    """
    chosen = np.flatnonzero(2 * axis.least < widest)
    count = np.maximum(np.ceil(axis.lengths[chosen] / SPACING), 1).astype(np.int64)
    which = np.repeat(chosen, count)
    number = np.arange(len(which)) - np.repeat(np.cumsum(count) - count, count)
    share = ((number + 0.5) / np.repeat(count, count))[:, None]
    places = axis.places[which, 0] * (1 - share) + axis.places[which, 1] * share
    whole = np.flatnonzero(np.isfinite(axis.peak) & (2 * axis.peak < widest))
    length = np.concatenate([axis.lengths[which] / np.repeat(count, count), 2 * axis.peak[whole]])
    clearance = axis.clearance[which, 0] * (1 - share[:, 0]) + axis.clearance[which, 1] * share[:, 0]
    length *= np.clip(2 * np.concatenate([clearance, axis.peak[whole]]) / SEEN, LEAST_SEEN, 1.0)
    return _Samples(
        np.concatenate([places, axis.peak_place[whole]]), length, np.concatenate([axis.region[which], whole])
    )
