"""One plan of boards for everything that is cut: woods, thicknesses, kinds of boards and offcuts.

Parts of one wood and thickness are planned together. Offcuts are filled first, one after the other, each with the
parts that use most of it. The rest comes out of whole boards of one kind, the one of which least wood is taken
(:func:`service.boards.cutting.plan_boards`, with its bound); where no one kind takes every part, each part goes to
the smallest kind that it comes out of.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from service.boards.cut_parts import CutPart
from service.boards.cutting import BoardPlan, plan_boards
from service.boards.laying import lay_out
from service.boards.patterns import best_board
from service.boards.stock import (
    SAME_THICKNESS,
    Lying,
    Stock,
    Wanted,
    comes_out_of,
    refuse_impossible,
    sizes_of,
)
from service.orders.errors import FieldError, InvalidError

_LEAST_OFFCUT = 0.25
"""An offcut is cut where parts use this share of it; else it stays an offcut."""


@dataclass(frozen=True)
class Board:
    """One board as it is cut.

    Attributes:
        stock: its kind; an offcut's length is its own.
        offcut: whether it is one.
        parts: what comes out of it, and where it lies.
    """

    stock: Stock
    offcut: bool
    parts: tuple[tuple[CutPart, Lying], ...]


@dataclass(frozen=True)
class WoodPlan:
    """The boards of a part list.

    Attributes:
        plans: whole boards, one kind after the other.
        offcuts: how many offcuts are cut.
        boards: every board with what comes out of it, offcuts first within a wood and thickness.
    """

    plans: tuple[BoardPlan, ...]
    offcuts: int
    boards: tuple[Board, ...]

    @property
    def whole(self) -> int:
        """How many whole boards are cut."""
        return sum(plan.boards for plan in self.plans)

    @property
    def bound(self) -> int:
        """No plan of these kinds and offcuts takes fewer whole boards."""
        return sum(plan.bound for plan in self.plans)

    @property
    def to_buy(self) -> int:
        """Whole boards to buy, spare ones with them, less what is on the rack."""
        return sum(max(0, plan.to_buy - (plan.stock.on_hand or 0)) for plan in self.plans)

    @property
    def used_share(self) -> float:
        """Area of the parts over area of whole boards and offcuts; 0 where nothing is cut."""
        wood = sum(board.stock.length * board.stock.width for board in self.boards)
        parts = sum(lying.length * lying.width for board in self.boards for _, lying in board.parts)
        return parts / wood if wood else 0.0

    @property
    def sentence(self) -> str:
        """The plan in words."""
        told = [plan.sentence for plan in self.plans if plan.boards]
        told += [
            f"{plan.stock.on_hand} of these are on the rack: buy {max(0, plan.to_buy - plan.stock.on_hand)}."
            for plan in self.plans
            if plan.boards and plan.stock.on_hand
        ]
        if self.offcuts:
            one = self.offcuts == 1
            told.insert(0, "1 offcut is cut first." if one else f"{self.offcuts} offcuts are cut first.")
        return " ".join(told)


def plan_wood(parts: Sequence[CutPart], kinds: Sequence[tuple[Stock, tuple[float, ...]]]) -> WoodPlan:
    """The boards for these parts.

    Args:
        parts: of whatever is cut together.
        kinds: kinds of boards, each with the lengths of its offcuts, mm.

    Raises:
        InvalidError: parts that come out of none of the boards, each named with what would help.
    """
    refuse_unplannable([part.wanted for part in parts], [stock for stock, _ in kinds])
    groups: dict[tuple[str, float], list[CutPart]] = defaultdict(list)
    for part in parts:
        groups[part.wood, part.thickness].append(part)
    plans: list[BoardPlan] = []
    boards: list[Board] = []
    offcuts = 0
    for (wood, thickness), group in sorted(groups.items()):
        fitting = [kind for kind in kinds if _of(kind[0], wood, thickness)]
        cut, rest = _from_offcuts(group, fitting)
        offcuts += len(cut)
        boards += cut
        for plan, these in _from_boards(rest, [stock for stock, _ in fitting]):
            plans.append(plan)
            boards += _boards_of(plan, these)
    return WoodPlan(tuple(plans), offcuts, tuple(boards))


def refuse_unplannable(parts: Sequence[Wanted], stocks: Sequence[Stock]) -> None:
    """Raises InvalidError naming each part that comes out of no board there is."""
    problems: list[FieldError] = []
    for part in {(part.key, part.length, part.width): part for part in parts}.values():
        fitting = [stock for stock in stocks if _of(stock, part.wood, part.thickness)]
        if not fitting:
            wood = part.wood.replace("-", " ") or "any wood"
            problems.append(
                FieldError(
                    part.key,
                    "no-board",
                    f"“{part.name}” is of {wood}, {part.thickness:g} mm thick, and no such board is among yours. "
                    "Add it to the boards of the machine's settings.",
                )
            )
        elif not any(comes_out_of(part, stock) for stock in fitting):
            largest = max(fitting, key=lambda stock: (stock.length, stock.width))
            try:
                refuse_impossible([part], largest)
            except InvalidError as refusal:
                problems += refusal.problems
    if problems:
        raise InvalidError(*problems)


def _of(stock: Stock, wood: str, thickness: float) -> bool:
    return (not stock.wood or not wood or stock.wood == wood) and abs(
        stock.thickness - thickness
    ) <= SAME_THICKNESS


def _from_offcuts(
    parts: list[CutPart], kinds: Sequence[tuple[Stock, tuple[float, ...]]]
) -> tuple[list[Board], list[CutPart]]:
    """Offcuts with what they give, the longest first, and the parts that are left."""
    boards: list[Board] = []
    left = list(parts)
    lengths = [(length, at) for at, (_, offcuts) in enumerate(kinds) for length in offcuts]
    for length, at in sorted(lengths, reverse=True):
        kind = kinds[at][0]
        if length <= 2 * kind.end_trim or not left:
            continue
        stock = replace(kind, name=f"offcut of {length:g} mm, {kind.name}", length=length)
        sizes = [size for size in sizes_of([part.wanted for part in left]) if comes_out_of(size, stock)]
        if not sizes:
            continue
        area = np.array([size.length * size.width for size in sizes])
        _, cut = best_board(sizes, area, [[size.count for size in sizes]], stock)
        (pattern,) = lay_out(sizes, [cut], [1], stock) or (None,)
        used = 0.0 if pattern is None else sum(lying.length * lying.width for lying in pattern.parts)
        if pattern is None or used < _LEAST_OFFCUT * length * stock.width:
            continue
        queues = _queues(left)
        board = Board(stock, True, tuple((queues[_size(lying)].pop(0), lying) for lying in pattern.parts))
        taken = {part.key for part, _ in board.parts}
        left = [part for part in left if part.key not in taken]
        boards.append(board)
    return boards, left


def _from_boards(parts: list[CutPart], stocks: Sequence[Stock]) -> Iterator[tuple[BoardPlan, list[CutPart]]]:
    """Whole boards: of the one kind that takes least wood, or each part of the smallest kind it comes out of."""
    if not parts:
        return
    wanted = [part.wanted for part in parts]
    every = [stock for stock in stocks if all(comes_out_of(part, stock) for part in wanted)]
    if every:
        plans = [
            plan_boards([replace(part, thickness=stock.thickness) for part in wanted], stock)
            for stock in every
        ]
        yield min(plans, key=lambda plan: plan.boards * plan.stock.length * plan.stock.width), parts
        return
    chosen: dict[int, list[CutPart]] = defaultdict(list)
    for part in parts:
        fitting = [at for at, stock in enumerate(stocks) if comes_out_of(part.wanted, stock)]
        chosen[min(fitting, key=lambda at: stocks[at].length * stocks[at].width)].append(part)
    for at, these in sorted(chosen.items()):
        stock = stocks[at]
        yield plan_boards([replace(part.wanted, thickness=stock.thickness) for part in these], stock), these


def _boards_of(plan: BoardPlan, parts: list[CutPart]) -> Iterator[Board]:
    """Each board of a plan with the very parts that come out of it, earlier pieces on earlier boards."""
    queues = _queues(parts)
    for pattern in plan.patterns:
        for _ in range(pattern.boards):
            placed = tuple((queues[_size(lying)].pop(0), lying) for lying in pattern.parts)
            yield Board(plan.stock, False, placed)
    if any(queues.values()):
        raise AssertionError(
            f"parts without a board: {Counter({size: len(q) for size, q in queues.items()})}"
        )


def _queues(parts: Sequence[CutPart]) -> dict[tuple[float, float], list[CutPart]]:
    queues: dict[tuple[float, float], list[CutPart]] = defaultdict(list)
    for part in parts:
        queues[part.length, part.width].append(part)
    return queues


def _size(lying: Lying) -> tuple[float, float]:
    return lying.length, lying.width
