"""Curves that meet where they should not.

Two ways to the same numbers: our own extension ``_crossing``, which sweeps chords from left to right, and a tree of
shapely's, which takes fifteen times as long. The first is used where it has been built (``scripts/setup.sh`` does).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
import shapely

from artwork.curves import Contour, sampled
from artwork.repair.net import Ints, Net
from artwork.repair.pressing import plain
from artwork.shapes import strokes

try:
    from artwork.repair import _crossing
except ImportError:  # a machine without a compiler
    _crossing = None  # type: ignore[assignment]

FLAT = 0.02
"""How far a chord may lie off its curve, mm."""


def by_extension(contours: Sequence[Contour]) -> Ints:
    """Numbers of the segments, counted over all contours, that meet themselves or others between joints."""
    net = Net.of(contours)
    found = _crossing.crossing(plain(net.knots), plain(net.controls), plain(net.lengths, np.int64), FLAT)
    return np.frombuffer(found, np.int64)


def by_shapely(contours: Sequence[Contour]) -> Ints:
    """As :func:`by_extension`: the fallback, and the oracle in the tests."""
    found = sampled(contours, FLAT)
    after = np.arange(1, len(found.points) + 1)
    after[found.starts[1:] - 1] = found.starts[:-1]
    lines = strokes(np.stack([found.points, found.points[after]], axis=1))
    first, second = shapely.STRtree(lines).query(lines, predicate="intersects")
    apart = (first < second) & (after[first] != second) & (after[second] != first)
    return np.unique(found.segment[np.concatenate([first[apart], second[apart]])])


crossing: Callable[[Sequence[Contour]], Ints] = by_shapely if _crossing is None else by_extension
"""The faster one of those that are there."""
