"""Polygons and distances on a pixel grid, without bias: a pixel is inside where its centre is."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from artwork.curves import Floats


def inside(rings: Sequence[Floats], width: int, height: int) -> NDArray[np.uint8]:
    """Which pixel centres an odd number of rings surrounds; shape (height, width), 1 inside, 0 outside.

    Args:
        rings: each of shape (n, 2), closed without repeating the first point, in pixels, y downwards, the
            first pixel's centre at (0.5, 0.5).
        width, height: of the grid, pixels.
    """
    grid = np.zeros((height, width + 1), np.uint8)
    if not rings:
        return grid[:, :width]
    start = np.concatenate(rings)
    end = np.concatenate([np.roll(ring, -1, axis=0) for ring in rings])
    low, high = np.minimum(start[:, 1], end[:, 1]), np.maximum(start[:, 1], end[:, 1])
    first = np.clip(np.ceil(low - 0.5), 0, height).astype(np.int64)
    count = np.clip(np.ceil(high - 0.5), 0, height).astype(np.int64) - first
    edge = np.repeat(np.arange(len(start)), count)
    row = np.arange(len(edge)) - np.repeat(np.cumsum(count) - count, count) + first[edge]
    (x0, y0), (x1, y1) = start[edge].T, end[edge].T
    x = x0 + (row + 0.5 - y0) / (y1 - y0) * (x1 - x0)
    column = np.clip(np.ceil(x - 0.5), 0, width).astype(np.int64)
    crossings = np.bincount(row * (width + 1) + column, minlength=grid.size)
    grid = (crossings & 1).astype(np.uint8).reshape(grid.shape)
    return np.bitwise_xor.accumulate(grid, axis=1)[:, :width]


def near_edge(ring: Floats, width: int, height: int, reach: float) -> NDArray[np.float32]:
    """Exact distance of each pixel centre to a closed ring, at most ``reach``; shape (height, width), pixels.

    Args:
        ring: shape (n, 2), first point not repeated, in pixels as in :func:`inside`.
        width, height: of the grid, pixels.
        reach: distances beyond it are not worked out and read ``reach``.
    """
    squared = np.full((height, width), reach * reach, np.float32)
    for a, b in zip(ring, np.roll(ring, -1, axis=0), strict=True):
        (x0, y0), (x1, y1) = np.minimum(a, b) - reach, np.maximum(a, b) + reach
        c0, c1 = max(int(x0), 0), min(int(x1) + 1, width)
        r0, r1 = max(int(y0), 0), min(int(y1) + 1, height)
        if c0 >= c1 or r0 >= r1:
            continue
        part = squared[r0:r1, c0:c1]
        corner = np.array([c0, r0])
        np.minimum(part, _squared_distance(a - corner, b - corner, part.shape), out=part)
    return np.sqrt(squared)


def _squared_distance(a: Floats, b: Floats, shape: tuple[int, ...]) -> NDArray[np.float32]:
    """Squared distance of each pixel centre of a block to one segment."""
    along = b - a
    length2 = max(float(along @ along), 1e-12)
    dx = np.arange(shape[1], dtype=np.float32)[None, :] + np.float32(0.5 - a[0])
    dy = np.arange(shape[0], dtype=np.float32)[:, None] + np.float32(0.5 - a[1])
    t = np.clip((dx * np.float32(along[0]) + dy * np.float32(along[1])) / np.float32(length2), 0, 1)
    ox, oy = dx - t * np.float32(along[0]), dy - t * np.float32(along[1])
    return np.asarray(ox * ox + oy * oy, np.float32)
