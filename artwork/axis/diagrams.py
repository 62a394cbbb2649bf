"""Boost.Polygon's Voronoi diagram of segments, as plain arrays.

Two bindings of the same library: our own extension ``_boost``, which hands the arrays over as they are, and
``pyvoronoi``, which maps every vertex, edge and cell once more and makes Python objects of them. The first is
used where it has been built (``scripts/setup.sh`` does); both give equal diagrams (tested).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from itertools import chain
from operator import attrgetter

import numpy as np
from numpy.typing import NDArray

from artwork.curves import Floats

try:
    from artwork.axis import _boost
except ImportError:  # a machine without a compiler or Boost's headers
    _boost = None  # type: ignore[assignment]

Int32s = NDArray[np.int32]

CELLS_AT_ONCE = 4096
"""Cells turned into Python objects at a time: bounds memory, and spares the garbage collector."""


@dataclass(frozen=True, eq=False)
class Halves:
    """A diagram as Boost keeps it. Half-edges 2i and 2i + 1 are each other's twins.

    Attributes:
        vertices: shape (v, 2).
        start: shape (h,), the vertex each half-edge starts at; −1 at infinity.
        cell: shape (h,), the cell on its left.
        segment: shape (c,), the segment each cell belongs to.
        category: shape (c,), whether to its first point (1), its second (2) or its inside (more).
    """

    vertices: Floats
    start: Int32s
    cell: Int32s
    segment: Int32s
    category: Int32s


def by_boost(segments: Int32s) -> Halves:
    """The diagram of segments, shape (n, 4): x and y of both ends."""
    vertices, halves, cells = _boost.diagram(np.ascontiguousarray(segments, np.int32).data)
    half = np.frombuffer(halves, np.int32).reshape(-1, 2)
    cell = np.frombuffer(cells, np.int32).reshape(-1, 2)
    return Halves(
        np.frombuffer(vertices, np.float64).reshape(-1, 2), half[:, 0], half[:, 1], cell[:, 0], cell[:, 1]
    )


def by_pyvoronoi(segments: Int32s) -> Halves:
    """As :func:`by_boost`, through ``pyvoronoi``: the fallback, and the oracle in the tests."""
    import pyvoronoi

    builder = pyvoronoi.Pyvoronoi(1)
    for ends in segments.reshape(-1, 2, 2).tolist():
        builder.AddSegment(ends)
    builder.Construct()
    total = builder.CountVertices()
    corners = [builder.GetVertex(index) for index in range(total)]
    vertices = np.empty((total, 2))
    vertices[:, 0] = np.fromiter(map(attrgetter("X"), corners), float, total)
    vertices[:, 1] = np.fromiter(map(attrgetter("Y"), corners), float, total)
    del corners
    cells, halves = builder.CountCells(), builder.CountEdges()
    segment, category = np.empty(cells, np.int32), np.empty(cells, np.int32)
    start, owner = np.full(halves, -1, np.int32), np.full(halves, -1, np.int32)
    for low in range(0, cells, CELLS_AT_ONCE):
        high = min(low + CELLS_AT_ONCE, cells)
        found = [builder.GetCell(index) for index in range(low, high)]
        segment[low:high] = np.fromiter(map(attrgetter("site"), found), np.int32, high - low)
        category[low:high] = np.fromiter(map(attrgetter("source_category"), found), np.int32, high - low)
        loops = list(map(attrgetter("edges"), found))
        sizes = np.fromiter(map(len, loops), np.int64, high - low)
        edges = np.fromiter(chain.from_iterable(loops), np.int64, sizes.sum())
        # a cell's vertex list names the start of every edge in turn, and the first once more at its end; a
        # point that several rings share has further cells without any
        rounds = np.fromiter(chain.from_iterable(map(attrgetter("vertices"), found)), np.int64)
        start[edges] = rounds[np.arange(len(edges)) + np.repeat(np.cumsum(sizes > 0) - 1, sizes)]
        owner[edges] = np.repeat(np.arange(low, high), sizes)
    return Halves(vertices, start, owner, segment, category)


build: Callable[[Int32s], Halves] = by_pyvoronoi if _boost is None else by_boost
"""The faster one of those that are there."""
