"""The most valuable way to cut one board: a knapsack over sections of side-by-side lanes.

A board is crosscut into sections; a section is ripped into lanes; a lane is crosscut into parts. All sections
of one split into lanes are laid together, so a board has at most one section per split, of any length. For
given values of the parts the best board is then

    max  Σ_splits Σ_lanes f_lane(length of the split's section)     over lengths that add up to the board

with ``f_lane(b)`` a bounded knapsack over the parts no wider than the lane. Exact on the grid of
:data:`service.boards.stock.STEP`, apart from one relaxation: a part's count is bounded per lane, not per
board (a board may then hold more of a part than is wanted; a bound made from such boards is still a bound).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from service.boards.stock import Size, Stock

Values = NDArray[np.float64]
_TIE = 1e-12


@dataclass(frozen=True)
class Sections:
    """A board as cut: for each split used, for each of its lanes, how many of each part."""

    lanes: tuple[tuple[tuple[float, ...], tuple[tuple[int, ...], ...]], ...]

    @cached_property
    def counts(self) -> tuple[int, ...]:
        """How many of each part the board gives."""
        columns = zip(*(lane for _, lanes in self.lanes for lane in lanes), strict=True)
        return tuple(sum(column) for column in columns)


def splits(sizes: Sequence[Size], stock: Stock) -> tuple[tuple[float, ...], ...]:
    """Ways to rip the board into lanes as wide as parts are, widest first; none that another covers."""
    # A lane wider than its parts wastes wood and takes no more of them, so only widths of parts are tried.
    widths = sorted({size.width for size in sizes}, reverse=True)
    found: list[tuple[float, ...]] = []

    def extend(lanes: tuple[float, ...], room: float, at: int) -> None:
        wider = [k for k in range(at, len(widths)) if widths[k] <= room + 1e-9]
        for k in wider:
            extend((*lanes, widths[k]), room - widths[k] - stock.kerf, k)
        if not wider and lanes:
            found.append(lanes)

    extend((), stock.width, 0)
    return tuple(one for one in found if not any(one != other and _covers(other, one) for other in found))


def best_board(
    sizes: Sequence[Size], values: Values, limits: Sequence[Sequence[int]], stock: Stock
) -> tuple[float, Sections]:
    """The board of most value.

    Args:
        sizes: the parts.
        values: shape (sizes,), what one of each is worth.
        limits: how many of each may lie in the first lane of a split, in the second, …; the last row is for
            all further lanes.
        stock: the board.

    Returns:
        Its value, and how it is cut.
    """
    steps = [stock.taken(size.length) for size in sizes]
    ways = splits(sizes, stock)
    knapsacks: dict[tuple[float, tuple[int, ...]], list[Values]] = {}

    def lane(width: float, at: int) -> list[Values]:
        limit = tuple(limits[min(at, len(limits) - 1)])
        if (width, limit) not in knapsacks:
            worth = np.where([size.width <= width + 1e-9 for size in sizes], values, 0.0)
            knapsacks[width, limit] = _knapsack(steps, worth, limit, stock.steps)
        return knapsacks[width, limit]

    lanes = [[lane(width, at) for at, width in enumerate(way)] for way in ways]
    sections = [np.sum([rows[-1] for rows in beside], axis=0) for beside in lanes]
    lengths = _shared(sections)
    cut = tuple(
        (way, tuple(_counts(rows, steps, values, length) for rows in beside))
        for way, beside, length in zip(ways, lanes, lengths, strict=True)
        if length
    )
    value = sum(float(section[length]) for section, length in zip(sections, lengths, strict=True))
    return value, Sections(cut)


def _covers(wide: tuple[float, ...], narrow: tuple[float, ...]) -> bool:
    """Whether each lane of ``narrow`` has one at least as wide of its own in ``wide``, both widest first."""
    return len(wide) >= len(narrow) and all(a >= b for a, b in zip(wide, narrow, strict=False))


def _knapsack(steps: Sequence[int], values: Values, limits: Sequence[int], room: int) -> list[Values]:
    """Best value within 0 … ``room`` steps: a row before any part, then one after each part considered."""
    rows = [np.zeros(room + 1)]
    for step, value, limit in zip(steps, values.tolist(), limits, strict=True):
        row = rows[-1]
        if value > 0:
            best = row.copy()
            for k in range(1, min(limit, room // step) + 1):
                np.maximum(best[k * step :], row[: room + 1 - k * step] + k * value, out=best[k * step :])
            row = best
        # The row before itself, no copy, where a part is worth nothing: _counts passes over it by that.
        rows.append(row)
    return rows


def _shared(sections: list[Values]) -> list[int]:
    """Lengths for the sections, together the whole board, at which their values add up to most."""
    room = len(sections[0]) - 1
    if len(sections) == 1:
        return [room]
    best, choices = sections[0], []
    for section in sections[1:-1]:
        # A section is worth giving more length only where its value rises: between two rises it is wasted.
        rises = np.concatenate([[0], np.flatnonzero(np.diff(section) > _TIE) + 1])
        joined, choice = best.copy(), np.zeros(room + 1, np.int64)
        for n in rises[1:].tolist():
            value = best[: room + 1 - n] + section[n]
            better = value > joined[n:] + _TIE
            joined[n:][better] = value[better]
            choice[n:][better] = n
        best = joined
        choices.append(choice)
    last = int(np.argmax(best[::-1] + sections[-1]))  # only the whole board matters now
    left, lengths = room - last, [last]
    for choice in reversed(choices):
        lengths.append(int(choice[left]))
        left -= lengths[-1]
    return [left, *reversed(lengths)]


def _counts(rows: list[Values], steps: Sequence[int], values: Values, length: int) -> tuple[int, ...]:
    """How many of each part make up the best value within ``length``: the knapsack walked backwards."""
    counts = [0] * len(steps)
    left = length
    for at in range(len(steps) - 1, -1, -1):
        after, before = rows[at + 1], rows[at]
        if after is before:
            continue
        step, value = steps[at], float(values[at])
        while after[left] - before[left - counts[at] * step] - counts[at] * value > _TIE * (1 + after[left]):
            counts[at] += 1
        left -= counts[at] * step
    return tuple(counts)
