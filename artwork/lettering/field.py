"""The place on a slat that text is fitted into."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil
from typing import Annotated, Any

import numpy as np
import shapely
from annotated_types import Gt, Lt
from numpy.typing import NDArray
from shapely import MultiPolygon, Polygon, affinity, box

from artwork.errors import EngineError
from artwork.furniture import Place
from artwork.workpiece import Degrees

GRID = 1.0
"""Step in which the roomiest place is looked for, mm."""
_Size = Annotated[float, Gt(0), Lt(1000)]


@dataclass(frozen=True)
class Field:
    """A rectangle on a slat, text running along its width.

    Attributes:
        x, y: its middle, slat mm.
        width, height: along and across the text, mm.
        turn_deg: direction of reading, counter-clockwise from the slat's x (90: reads upwards).
    """

    x: Place
    y: Place
    width: _Size
    height: _Size
    turn_deg: Degrees = 0.0

    @property
    def shape(self) -> Polygon:
        """The rectangle, slat mm."""
        half_width, half_height = self.width / 2, self.height / 2
        flat = box(-half_width, -half_height, half_width, half_height)
        return affinity.translate(affinity.rotate(flat, self.turn_deg, origin=(0, 0)), self.x, self.y)


def roomiest_field(area: Polygon | MultiPolygon, turn_deg: float = 0.0) -> Field:
    """The rectangle of most area, turned as asked, that lies within ``area``; on a grid of :data:`GRID` mm.

    Args:
        area: where art may lie, slat mm (:func:`artwork.placing.safe_area`).
        turn_deg: direction of reading.

    Raises:
        EngineError: ``no-room`` where not even one square of the grid lies within.
    """
    upright = affinity.rotate(area, -turn_deg, origin=(0, 0))
    if upright.is_empty:
        raise _no_room()
    left, low, right, high = upright.bounds
    columns, rows = (max(1, ceil((b - a) / GRID)) for a, b in ((left, right), (low, high)))
    xs = left + GRID * np.arange(columns + 1)
    ys = low + GRID * np.arange(rows + 1)
    shapely.prepare(upright)
    free = np.asarray(shapely.covers(upright, _cells(xs, ys)))
    found = _largest_rectangle(free)
    if found is None:
        raise _no_room()
    bottom, top, first, last = found
    width, height = (last - first) * GRID, (top - bottom) * GRID
    middle = affinity.rotate(
        shapely.Point(xs[first] + width / 2, ys[bottom] + height / 2), turn_deg, origin=(0, 0)
    )
    return Field(middle.x, middle.y, width, height, turn_deg)


def _no_room() -> EngineError:
    return EngineError(
        "no-room", "This slat has no room for text.", "Choose another slat or smaller margins."
    )


def _cells(xs: NDArray[Any], ys: NDArray[Any]) -> NDArray[Any]:
    """Squares of the grid, shape (rows, columns)."""
    x, y = np.meshgrid(xs[:-1], ys[:-1])
    return np.asarray(shapely.box(x, y, x + GRID, y + GRID))


def _largest_rectangle(free: NDArray[np.bool_]) -> tuple[int, int, int, int] | None:
    """Rows ``bottom:top`` and columns ``first:last`` of the largest all-free rectangle.

    The largest rectangle under a histogram, row by row, with a stack of rising columns.
    """
    best, found = 0, None
    heights = np.zeros(free.shape[1], np.int64)
    for row, cells in enumerate(free):
        heights = np.where(cells, heights + 1, 0)
        stack: list[tuple[int, int]] = []
        for column, height in enumerate([*heights.tolist(), 0]):
            start = column
            while stack and stack[-1][1] >= height:
                start, tall = stack.pop()
                if (area := tall * (column - start)) > best:
                    best, found = area, (row + 1 - tall, row + 1, start, column)
            stack.append((start, height))
    return found
