"""How much of a drawing a repair keeps: lengths of axes, drawn and carved, compared both ways.

Overlap of areas misleads both ways (a thickened line drawing overlaps itself by half and is fine; a crest without
its emblem overlaps by 98 % and is lost), so what counts is how much of the lines' and the lands' length is still there.
"""

from __future__ import annotations

from collections.abc import Sequence

import cv2
import numpy as np

from artwork.axis.anatomy import Axis
from artwork.curves import Contour, Floats, bounds_of
from artwork.repair.lettering import letters_kept
from artwork.repair.values import Likeness

TOLERANCE = 0.45
"""A line is still there where its middle is no farther than this from what is carved, mm."""
WIDE = 6.0
"""Wood wider than this, mm, is ground, not figure."""
PIXEL = 0.12
SPACING = 0.25
MOST_PIXELS = 6_000_000


def likeness(
    drawn: Sequence[Contour],
    drawn_axes: tuple[Axis, Axis],
    now: Sequence[Contour],
    now_axes: tuple[Axis, Axis],
) -> Likeness:
    """Compares two drawings in the same mm.

    Args:
        drawn, now: contours.
        drawn_axes, now_axes: axis of lines and axis of lands of each.
    """
    grids = _Grids(drawn, now)
    (lines, lands), (new_lines, new_lands) = drawn_axes, now_axes
    return Likeness(
        lines_kept=grids.share(_samples(lines, np.inf), carved=True, after=True),
        lands_kept=grids.share(_samples(lands, WIDE), carved=False, after=True),
        lines_true=grids.share(_samples(new_lines, np.inf), carved=True, after=False),
        lands_true=grids.share(_samples(new_lands, WIDE), carved=False, after=False),
        letters_kept=letters_kept(drawn, now),
    )


class _Grids:
    """Distances to carved and to standing wood, before and after, on one grid."""

    def __init__(self, drawn: Sequence[Contour], now: Sequence[Contour]) -> None:
        left, low, right, high = bounds_of((*drawn, *now))
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

    def share(self, samples: tuple[Floats, Floats], *, carved: bool, after: bool) -> float:
        """Share of the samples' length at which the other drawing is carved (or stands), within the tolerance."""
        places, length = samples
        if not len(places):
            return 1.0
        pixel = np.rint((places - self._origin) / self._pixel).astype(np.int64)
        inside = ((pixel >= 0) & (pixel < self._shape[::-1])).all(axis=1)
        at = np.clip(pixel, 0, np.array(self._shape[::-1]) - 1)
        far = self._far[after, carved][at[:, 1], at[:, 0]] * self._pixel
        there = np.where(inside, far <= TOLERANCE, not carved)
        return float((length * there).sum() / length.sum())


def _samples(axis: Axis, widest: float) -> tuple[Floats, Floats]:
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
    return np.concatenate([places, axis.peak_place[whole]]), length
