"""How many boards an order takes: the cutting-stock problem by column generation (Gilmore and Gomory, 1961).

The linear programme over cutting patterns is solved by HiGHS (the one inside SciPy); new patterns come from
the knapsack of :mod:`service.boards.patterns` until none would help. Its value, rounded up, is a bound that
no plan of such patterns can beat. Whole boards come from rounding down and going on with the rest, and, where
that misses the bound, from the integer programme over these and more patterns (HiGHS again). The plan says
whether it meets its bound.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil

import numpy as np
from numpy.typing import NDArray

from service.boards.laying import lay_out
from service.boards.patterns import Sections, Values, best_board
from service.boards.stock import Pattern, Size, Stock, Wanted, refuse_impossible, sizes_of

_HELPS = 1e-7
"""A pattern worth less than 1 + this, at the present values of parts, changes nothing."""
_WHOLE = 1e-6
"""How near a count of boards must be to a whole number to be taken for it."""
_MORE = 300
"""Patterns looked for besides those of the linear programme, where its bound was missed."""
_SPREAD = 0.3
"""Standard deviation of the logarithm by which values of parts are thrown about for them."""
_MOST_NODES = 2_000
"""Branch-and-bound nodes: a count, not a time, so that the same order gives the same plan everywhere."""


@dataclass(frozen=True)
class BoardPlan:
    """The boards for a list of parts.

    Attributes:
        stock: the board.
        sizes: the parts, counted by size.
        patterns: how boards are cut; every wanted part lies in exactly one place.
        boards: how many are cut.
        bound: with straight crosscuts and rips (:mod:`service.boards.patterns`) no plan takes fewer.
        in_bulk: boards per such list when very many are cut together (``4.4``).
        used_share: area of the parts over area of the boards.
    """

    stock: Stock
    sizes: tuple[Size, ...]
    patterns: tuple[Pattern, ...]
    boards: int
    bound: int
    in_bulk: float
    used_share: float

    @property
    def proven(self) -> bool:
        """Whether no plan of this kind takes fewer boards."""
        return self.boards == self.bound

    @property
    def to_buy(self) -> int:
        """Boards with the spare ones."""
        return ceil(self.boards * (1 + self.stock.spare_share) - 1e-9)

    @property
    def sentence(self) -> str:
        """The plan in words."""
        best = "the fewest possible" if self.proven else f"at least {self.bound} are needed"
        return (
            f"{self.boards} × {self.stock.name} ({best}, with a kerf of {self.stock.kerf:g} mm and "
            f"{self.stock.end_trim:g} mm off each end). "
            f"Buy {self.to_buy}, {self.stock.spare_share:.0%} spare."
        )


def plan_boards(parts: Sequence[Wanted], stock: Stock) -> BoardPlan:
    """The boards for these parts.

    Args:
        parts: all of the stock's thickness.
        stock: the board they are cut from.

    Raises:
        Invalid: parts that do not come out of a board, each named.
    """
    refuse_impossible(parts, stock)
    sizes = sizes_of(parts)
    if not sizes:
        return BoardPlan(stock, (), (), 0, 0, 0.0, 0.0)
    demand = [size.count for size in sizes]
    in_bulk, _ = _Programme(sizes, stock).solve(demand, [stock.steps] * len(sizes))
    programme = _Programme(sizes, stock)
    bound = ceil(programme.solve(demand, demand)[0] - _WHOLE)
    times = programme.rounded(demand)
    if sum(times) > bound:
        programme.enrich(demand)
        times = min(times, programme.integer(demand) or times, key=sum)
    patterns = lay_out(sizes, programme.cuts[: len(times)], times, stock)
    boards = sum(pattern.boards for pattern in patterns)
    wood = sum(size.length * size.width * size.count for size in sizes)
    return BoardPlan(
        stock, sizes, patterns, boards, bound, in_bulk, wood / (boards * stock.length * stock.width)
    )


class _Programme:
    """Fewest boards that cover a demand, over the cutting patterns found so far."""

    def __init__(self, sizes: Sequence[Size], stock: Stock) -> None:
        self.sizes, self.stock = sizes, stock
        self.cuts: list[Sections] = []
        for at, size in enumerate(sizes):  # one size alone on a board: any demand can be met
            worth = np.zeros(len(sizes))
            worth[at] = 1.0
            self.cuts.append(best_board(sizes, worth, [[size.count] * len(sizes)], stock)[1])

    def solve(self, demand: Sequence[int], limits: Sequence[int]) -> tuple[float, Values]:
        """Value and boards per pattern of the linear programme; patterns are added while one helps.

        Args:
            demand: how many of each size must be covered.
            limits: how many of each size a new pattern may have in one lane.
        """
        while True:
            boards, worth = self._linear(demand)
            value, cut = best_board(self.sizes, worth, [limits], self.stock)
            if value <= 1 + _HELPS or cut in self.cuts:
                return float(worth @ np.array(demand)), boards
            self.cuts.append(cut)

    def rounded(self, demand: Sequence[int]) -> list[int]:
        """Whole boards per pattern: the programme rounded down, then again for what is left."""
        times = np.zeros(0, int)
        left = np.array(demand)
        while left.any():
            _, boards = self.solve(left.tolist(), left.tolist())
            whole = np.floor(boards + _WHOLE).astype(int)
            if not whole.any():
                whole[np.argmax(boards)] = 1
            times = np.pad(times, (0, len(whole) - len(times))) + whole
            left = np.maximum(left - self._given() @ whole, 0)
        return [int(count) for count in times]

    def enrich(self, demand: Sequence[int]) -> None:
        """More patterns: values thrown about the linear programme's, the demand dealt out to two lanes.

        Dealing matters for short lists: lanes that may both take the whole demand come out alike, and a board
        with one long part beside two short ones is never met.
        """
        _, worth = self._linear(demand)
        board = self.stock.steps * self.stock.width
        area = np.array([self.stock.taken(size.length) * size.width / board for size in self.sizes])
        dice = np.random.default_rng(0)  # the same throws for everybody
        for _ in range(_MORE):
            thrown = np.maximum(worth, area) * dice.lognormal(0.0, _SPREAD, len(area))
            first = dice.integers(0, np.array(demand) + 1)
            dealt = [first.tolist(), (np.array(demand) - first).tolist()]
            cut = best_board(self.sizes, thrown, dealt, self.stock)[1]
            if cut not in self.cuts:
                self.cuts.append(cut)

    def integer(self, demand: Sequence[int]) -> list[int] | None:
        """Whole boards per pattern by branch and bound; not always the fewest, for its nodes are counted."""
        from scipy.optimize import LinearConstraint, milp  # loaded with the first plan, not at every start

        found = milp(
            np.ones(len(self.cuts)),
            constraints=LinearConstraint(self._given(), lb=demand),
            integrality=np.ones(len(self.cuts), np.uint8),
            options={"node_limit": _MOST_NODES},
        )
        if found.x is None:  # the nodes ran out before the first whole answer
            return None
        # rounding an approximate whole number up keeps every demand covered
        return [ceil(count - _WHOLE) for count in found.x]

    def _linear(self, demand: Sequence[int]) -> tuple[Values, Values]:
        """Boards per pattern, and what one more part of each size would cost in boards (the dual values)."""
        from scipy.optimize import linprog

        found = linprog(np.ones(len(self.cuts)), A_ub=-self._given(), b_ub=-np.array(demand), method="highs")
        return np.asarray(found.x), np.maximum(-found.ineqlin.marginals, 0.0)

    def _given(self) -> NDArray[np.int64]:
        """Shape (sizes, patterns): how many of each size each pattern gives."""
        return np.array([cut.counts for cut in self.cuts]).T
