"""Small pictures of versions, close around the art: what was sent, what will be carved, what is different."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import cv2
import numpy as np

from artwork.curves import bounds_of
from artwork.cut import Cut
from artwork.grain import look_of
from artwork.preview import Picture, render, webp
from artwork.relief import relief

AROUND = 6.0
"""Shown around the art, mm."""
LONGEST = 560
"""Pixels along the longer side."""
MOST_PX_PER_MM = 6.0
POINTED_AT = (672, 1008)
"""Pixels across and up of a picture to point at, at most."""
CLOSE = 12.0
"""So much is shown on every side of a place that is pointed at, mm."""
FLAT = 0.02
PAPER = np.array([250, 249, 246], np.float32)
INK, STAYS, GONE, NEW = np.array([(38, 34, 30), (150, 146, 140), (196, 40, 28), (0, 92, 184)], np.float32)
"""Carved as drawn; of a change: carved before and after, no more, anew. Red, green, blue."""
_FINER = 2
_FRACTION_BITS = 4


def drawn_webp(cut: Cut) -> bytes:
    """The art as it was drawn, where the cut lays it: ink on paper."""
    box = _box(cut)
    shown = _mask(cut, box, _density(box))[..., None] / np.float32(255)
    return webp(np.asarray(PAPER + (INK - PAPER) * shown, np.uint8))


def carved_webp(cut: Cut) -> bytes:
    """What will be left of it in the wood."""
    box = _box(cut)
    density = _density(box)
    face = relief(cut, density)
    lit = render(face, look_of(cut.slat.species, "fresh"), cut.slat)
    corners = np.rint(face.pixels(np.array([[box[0], box[3]], [box[2], box[1]]]))).astype(int)
    (left, top), (right, bottom) = np.clip(corners, 0, [lit.shape[1], lit.shape[0]])
    return webp(np.ascontiguousarray(lit[top:bottom, left:right]))


def changed_webp(before: Cut, after: Cut) -> bytes:
    """What is carved anew, and what is not any more, in two colours over what stays."""
    box = _box(before, after)
    return webp(_changed(before, after, box, _density(box)))


@dataclass(frozen=True)
class Window:
    """What a picture to point at shows.

    Attributes:
        box: left, low, right, high, slat mm.
        size: pixels across and up.
    """

    box: tuple[float, float, float, float]
    size: tuple[int, int]

    @classmethod
    def of(cls, before: Cut, after: Cut, point: tuple[float, float] | None = None) -> Window:
        """All of both drawings, or what is close around a place."""
        box = _box(before, after)
        if point is not None:
            half = min(CLOSE, max(box[2] - box[0], box[3] - box[1]) / 2)
            box = (point[0] - half, point[1] - half, point[0] + half, point[1] + half)
        across, up = box[2] - box[0], box[3] - box[1]
        density = min(POINTED_AT[0] / across, POINTED_AT[1] / up)
        return cls(box, (max(int(across * density), 1), max(int(up * density), 1)))


def numbered_webp(
    before: Cut,
    after: Cut,
    window: Window,
    numbers: Sequence[tuple[int, float, float]],
    point: tuple[float, float] | None = None,
) -> bytes:
    """As :func:`changed_webp`, with numbers at places (slat mm), and a cross at the place that is pointed at."""
    left, _, right, high = window.box
    density = window.size[0] / (right - left)
    shown = np.ascontiguousarray(_changed(before, after, window.box, density))
    for number, x, y in numbers:
        at = round((x - left) * density), round((high - y) * density)
        words, wide = str(number), 9 + 6 * len(str(number))
        cv2.circle(shown, at, wide, (255, 255, 255), -1, cv2.LINE_AA)
        cv2.circle(shown, at, wide, (38, 34, 30), 1, cv2.LINE_AA)
        start = (at[0] - 6 * len(words), at[1] + 6)
        cv2.putText(shown, words, start, cv2.FONT_HERSHEY_SIMPLEX, 0.55, (38, 34, 30), 2, cv2.LINE_AA)
    if point is not None:
        at = round((point[0] - left) * density), round((high - point[1]) * density)
        for colour, thick in (((255, 255, 255), 5), ((38, 34, 30), 2)):
            cv2.drawMarker(shown, at, colour, cv2.MARKER_CROSS, 34, thick, cv2.LINE_AA)
    return webp(shown)


def _changed(before: Cut, after: Cut, box: tuple[float, float, float, float], density: float) -> Picture:
    was, now = (_mask(each, box, density)[..., None] / np.float32(255) for each in (before, after))
    ink = was * now * STAYS + was * (1 - now) * GONE + (1 - was) * now * NEW
    return np.asarray(ink + (1 - was) * (1 - now) * PAPER, np.uint8)


def _box(*cuts: Cut) -> tuple[float, float, float, float]:
    """Left, low, right, high in slat mm."""
    left, low, right, high = bounds_of([ring for cut in cuts for ring in cut.placed().contours])
    return left - AROUND, low - AROUND, right + AROUND, high + AROUND


def _density(box: tuple[float, float, float, float]) -> float:
    return min(LONGEST / max(box[2] - box[0], box[3] - box[1]), MOST_PX_PER_MM)


def _mask(cut: Cut, box: tuple[float, float, float, float], density: float) -> Picture:
    """How much of each pixel is carved, 0 to 255; row 0 is the top."""
    left, low, right, high = box
    unit = _FINER * density
    grid = np.zeros((int((high - low) * unit), int((right - left) * unit)), np.uint8)
    scale = unit * 2**_FRACTION_BITS
    rings = [
        np.rint((each.polyline(FLAT) - (left, high)) * (scale, -scale)).astype(np.int32)
        for each in cut.placed().contours
    ]
    cv2.fillPoly(grid, rings, (255.0,), cv2.LINE_8, _FRACTION_BITS)
    size = (grid.shape[1] // _FINER, grid.shape[0] // _FINER)
    return np.asarray(cv2.resize(grid, size, interpolation=cv2.INTER_AREA), np.uint8)
