"""Small pictures of versions, close around the art: what was sent, what will be carved, what is different."""

from __future__ import annotations

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
FLAT = 0.02
PAPER = np.array([250, 249, 246], np.float32)
INK, STAYS, GONE, NEW = np.array([(38, 34, 30), (150, 146, 140), (196, 40, 28), (0, 92, 184)], np.float32)
"""Carved as drawn; of a change: carved before and after, no more, anew. Red, green, blue."""
_FINER = 2
_FRACTION_BITS = 4


def drawn_webp(cut: Cut) -> bytes:
    """The art as it was drawn, where the cut lays it: ink on paper."""
    box = _box(cut)
    shown = _mask(cut, box)[..., None] / np.float32(255)
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
    was, now = (_mask(each, box)[..., None] / np.float32(255) for each in (before, after))
    ink = was * now * STAYS + was * (1 - now) * GONE + (1 - was) * now * NEW
    return webp(np.asarray(ink + (1 - was) * (1 - now) * PAPER, np.uint8))


def _box(*cuts: Cut) -> tuple[float, float, float, float]:
    """Left, low, right, high in slat mm."""
    left, low, right, high = bounds_of([ring for cut in cuts for ring in cut.placed().contours])
    return left - AROUND, low - AROUND, right + AROUND, high + AROUND


def _density(box: tuple[float, float, float, float]) -> float:
    return min(LONGEST / max(box[2] - box[0], box[3] - box[1]), MOST_PX_PER_MM)


def _mask(cut: Cut, box: tuple[float, float, float, float]) -> Picture:
    """How much of each pixel is carved, 0 to 255; row 0 is the top."""
    left, low, right, high = box
    unit = _FINER * _density(box)
    grid = np.zeros((int((high - low) * unit), int((right - left) * unit)), np.uint8)
    scale = unit * 2**_FRACTION_BITS
    rings = [
        np.rint((each.polyline(FLAT) - (left, high)) * (scale, -scale)).astype(np.int32)
        for each in cut.placed().contours
    ]
    cv2.fillPoly(grid, rings, (255.0,), cv2.LINE_8, _FRACTION_BITS)
    size = (grid.shape[1] // _FINER, grid.shape[0] // _FINER)
    return np.asarray(cv2.resize(grid, size, interpolation=cv2.INTER_AREA), np.uint8)
