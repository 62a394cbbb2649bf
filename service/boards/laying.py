"""Cut patterns as places on boards: every wanted part exactly once."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence

from service.boards.patterns import Sections
from service.boards.stock import STEP, Lying, Pattern, Size, Stock


def lay_out(
    sizes: Sequence[Size], cuts: Sequence[Sections], times: Sequence[int], stock: Stock
) -> tuple[Pattern, ...]:
    """The boards as cut, equal ones together, the most frequent first.

    Boards may hold more of a part than is wanted; what is not wanted is left in the offcut. A board on which
    nothing is left is not cut at all.
    """
    left = [size.count for size in sizes]
    boards: Counter[tuple[Lying, ...]] = Counter()
    for cut, count in zip(cuts, times, strict=True):
        for _ in range(count):
            parts = tuple(_board(cut, sizes, left, stock))
            if parts:
                boards[parts] += 1
    return tuple(Pattern(parts, count) for parts, count in boards.most_common())


def _board(cut: Sections, sizes: Sequence[Size], left: list[int], stock: Stock) -> Iterator[Lying]:
    """The parts of one board, taken off what is ``left``."""
    start = stock.end_trim
    for widths, lanes in cut.lanes:
        across, ends = 0.0, [start]
        for width, counts in zip(widths, lanes, strict=True):
            along = start
            for at, wanted in enumerate(counts):
                for _ in range(min(wanted, left[at])):
                    yield Lying(sizes[at].length, sizes[at].width, along, across)
                    left[at] -= 1
                    along += stock.taken(sizes[at].length) * STEP
            ends.append(along)
            across += width + stock.kerf
        start = max(ends)
