"""Uneven light and grain of photos and scans, taken out before ink is told from paper."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

Pixels = cv2.typing.MatLike

_SMALL = 384
"""Light is judged on a picture reduced to this side: it changes slowly."""
_FEATURE = 12
"""Strokes thinner than the side over this are closed over to see the paper under them."""
_SOLID = 0.45
"""Darker than this share of the paper around it, a patch is ink, not shadow: shadows keep more light."""
_UNEVEN = 0.06
"""Paper whose light varies by less than this share is even enough."""
_PAPER = 235.0
"""Level that levelled paper gets."""
_FAINT = 1e-3
_FOLLOWS = 6.0
"""The surface follows the light as closely as this share of the strokes closed over: shadows have edges."""
GRAINY = 2.0
"""Noise, grey levels, from which a picture is smoothed before the threshold."""
_PATCH = 128
_NOISE_KERNEL = np.array([[1, -2, 1], [-2, 4, -2], [1, -2, 1]], np.float32)


@dataclass(frozen=True, eq=False)
class Levelled:
    """A picture in even light, and by how much the light varied before (0 where nothing was done)."""

    levels: Pixels
    varied: float


def levelled(levels: Pixels) -> Levelled:
    """Dark art on lighter paper, (h, w) or (h, w, 3): paper brought to one level everywhere.

    The paper's light is a smooth surface through what is left when thin dark strokes are closed over and
    solid dark patches are filled in from around them; the picture is divided by it.
    """
    height, width = levels.shape[:2]
    scale = min(1.0, _SMALL / max(height, width))
    size = (max(1, round(width * scale)), max(1, round(height * scale)))
    small = cv2.resize(levels, size, interpolation=cv2.INTER_AREA)
    light = small if small.ndim == 2 else small.max(axis=2)
    paper = _paper(light)
    low, high = np.percentile(paper, (2, 98))
    varied = float(1 - low / max(high, 1.0))
    if varied < _UNEVEN:
        return Levelled(levels, 0.0)
    planes = [levels] if levels.ndim == 2 else cv2.split(levels)
    smalls = [small] if small.ndim == 2 else cv2.split(small)
    done = [_divided(plane, _paper(each)) for plane, each in zip(planes, smalls, strict=True)]
    return Levelled(done[0] if levels.ndim == 2 else cv2.merge(done), varied)


def _divided(plane: Pixels, paper: Pixels) -> Pixels:
    height, width = plane.shape
    surface = cv2.resize(paper, (width, height), interpolation=cv2.INTER_LINEAR)
    return cv2.divide(plane, np.maximum(surface, 1), scale=_PAPER, dtype=cv2.CV_8U)


def _paper(small: Pixels) -> Pixels:
    """The paper's own level at every place of a small picture."""
    side = max(small.shape)
    reach = max(3, side // _FEATURE) | 1
    kernel = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (reach, reach))
    # one dark grain must not pass for paper being dark, nor one bright one for light
    closed = cv2.morphologyEx(cv2.medianBlur(small, 3), cv2.MORPH_CLOSE, kernel)
    wide = cv2.getStructuringElement(cv2.MORPH_RECT, (side // 2 | 1, side // 2 | 1))
    around = cv2.dilate(closed, wide)
    bright = (closed > _SOLID * around).astype(np.uint8)
    weight = cv2.erode(bright, np.ones((5, 5), np.uint8)).astype(np.float32)  # not the mixed edge of a patch
    blur = reach / _FOLLOWS
    light = closed.astype(np.float32) * weight
    surface = np.zeros_like(light)
    missing = np.ones_like(weight)
    while missing.any():  # wider and wider, until solid patches are filled from their surroundings
        spread = cv2.GaussianBlur(weight, (0, 0), blur)
        filled = (missing > 0) & (spread > _FAINT)
        surface[filled] = (cv2.GaussianBlur(light, (0, 0), blur)[filled]) / spread[filled]
        missing[filled] = 0
        blur *= 2
    return np.clip(surface, 1, 255).astype(np.uint8)


def noise(grey: Pixels) -> float:
    """Standard deviation of the grain, grey levels.

    J. Immerkær, "Fast noise variance estimation", Computer Vision and Image Understanding 64(2), 1996; the
    median over patches, so that edges do not count as grain.
    """
    height, width = grey.shape
    found = []
    for row in np.linspace(0, max(height - _PATCH, 0), 4).astype(int).tolist():
        for column in np.linspace(0, max(width - _PATCH, 0), 4).astype(int).tolist():
            patch = grey[row : row + _PATCH, column : column + _PATCH].astype(np.float32)
            response = np.abs(cv2.filter2D(patch, -1, _NOISE_KERNEL))
            found.append(float(np.median(response)) / (6 * 0.6745))  # median of |N(0, σ)| is 0.6745 σ
    return float(np.median(found))


def smoothed(levels: Pixels, grain: float) -> Pixels:
    """Without grain that would fray every edge."""
    return cv2.GaussianBlur(levels, (5, 5), 0) if grain > 2 * GRAINY else cv2.GaussianBlur(levels, (3, 3), 0)
