"""How far a scan lies crooked, by the lines in it."""

from __future__ import annotations

import cv2
import numpy as np

_SIDE = 640
_MOST_POINTS = 20_000
_MOST_TURN = 12.0
_COARSE, _FINE = 0.5, 0.05
SURE = 1.08
"""Rows and columns must be this much sharper upright than as scanned before a turn is believed."""
LEAST_TURN = 0.3
"""Degrees below which nothing is crooked."""


def skew_deg(mask: cv2.typing.MatLike) -> float:
    """Degrees, clockwise positive, by which the art of a mask (h, w) is turned; 0 where nothing tells.

    Projection profiles: among all turns, the upright one gathers the ink into the fewest rows and columns.
    """
    scale = min(1.0, _SIDE / max(mask.shape))
    size = (max(1, round(mask.shape[1] * scale)), max(1, round(mask.shape[0] * scale)))
    small = cv2.resize(mask * 255, size, interpolation=cv2.INTER_AREA)
    edges = cv2.morphologyEx((small > 127).astype(np.uint8), cv2.MORPH_GRADIENT, np.ones((2, 2), np.uint8))
    y, x = np.nonzero(edges)
    if len(x) < 100:  # too little to tell rows by
        return 0.0
    points = np.stack([x, y], axis=1)[:: max(1, len(x) // _MOST_POINTS)] - np.array(size) / 2
    coarse = np.arange(-_MOST_TURN, _MOST_TURN + _COARSE, _COARSE)
    best = coarse[int(np.argmax([_sharpness(points, a) for a in coarse]))]
    fine = np.arange(best - _COARSE, best + _COARSE + _FINE, _FINE)
    scores = [_sharpness(points, a) for a in fine]
    turn = float(fine[int(np.argmax(scores))])
    sure = max(scores) > SURE * _sharpness(points, 0.0)
    return turn if sure and abs(turn) >= LEAST_TURN else 0.0


def _sharpness(points: np.ndarray, degrees: float) -> float:
    """Sum of squares of the profiles across rows and down columns after turning back."""
    cos, sin = np.cos(np.radians(degrees)), np.sin(np.radians(degrees))
    total = 0.0
    for across in (points @ (cos, sin), points @ (-sin, cos)):
        counts = np.bincount((across - across.min()).astype(np.int64))
        total += float((counts.astype(np.float64) ** 2).sum())
    return total
