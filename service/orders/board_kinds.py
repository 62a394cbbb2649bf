"""Boards as a workshop keeps them: kinds of stock, what lies on the rack, offcuts."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Annotated, Any

from pydantic import Field

from service.orders.errors import FieldError
from service.orders.texts import number_problems, text_problems

MOST_KINDS = 40
MOST_OFFCUTS = 200
LONGEST_BOARD = 20_000.0
_LONGEST_WOOD = 64
Length = Annotated[float, Field(ge=20, le=LONGEST_BOARD, description="mm")]


@dataclass(frozen=True)
class BoardKind:
    """One kind of board.

    Attributes:
        wood: key of the wood (``"western-redcedar"``); empty: of any wood.
        thickness, width, length: as bought, mm.
        on_hand: whole boards on the rack; ``None`` where nobody counts them.
        offcuts: lengths of what is left of such boards, mm; they are cut first.
        price: of one board in the price list's minor units; 0 where it is not priced.
    """

    wood: Annotated[str, Field(max_length=_LONGEST_WOOD)] = ""
    thickness: Annotated[float, Field(ge=1, le=500, description="mm")] = 25.4
    width: Annotated[float, Field(ge=20, le=2_000, description="mm")] = 139.7
    length: Length = 2438.4
    on_hand: Annotated[int | None, Field(ge=0, le=100_000)] = None
    offcuts: Annotated[tuple[Length, ...], Field(max_length=MOST_OFFCUTS)] = ()
    price: Annotated[int, Field(ge=0, le=100_000_000)] = 0

    @property
    def name(self) -> str:
        """What people call it."""
        wood = f"{self.wood.replace('-', ' ')} " if self.wood else ""
        return f"{wood}board {self.thickness:g} × {self.width:g} × {self.length:g} mm"


def kinds_from(facts: object) -> tuple[BoardKind, ...]:
    """The kinds that :func:`dataclasses.asdict` made plain values of."""
    found: list[Mapping[str, Any]] = list(facts) if isinstance(facts, list | tuple) else []
    return tuple(BoardKind(**{**each, "offcuts": tuple(each.get("offcuts", ()))}) for each in found)


def kind_problems(kinds: tuple[BoardKind, ...], end_trim: float) -> Iterator[FieldError]:
    """What is wrong with the boards of a workshop."""
    if len(kinds) > MOST_KINDS:
        yield FieldError("stock", "count", f"Keep at most {MOST_KINDS} kinds of boards.")
    for at, kind in enumerate(kinds[:MOST_KINDS]):
        here = f"stock.{at}"
        yield from text_problems(f"{here}.wood", kind.wood, _LONGEST_WOOD)
        for problem in number_problems(kind):
            yield FieldError(f"{here}.{problem.field}", problem.code, problem.message)
        if kind.length <= 2 * end_trim:
            yield FieldError(
                f"{here}.length", "out-of-range", "Nothing is left of it when its ends are trimmed."
            )
        if len(kind.offcuts) > MOST_OFFCUTS:
            yield FieldError(f"{here}.offcuts", "count", f"Name at most {MOST_OFFCUTS} offcuts.")
        if any(not 20 <= offcut <= LONGEST_BOARD for offcut in kind.offcuts):
            yield FieldError(
                f"{here}.offcuts", "out-of-range", f"Offcuts are 20 to {LONGEST_BOARD:g} mm long."
            )
        if kind.on_hand is not None and kind.on_hand < 0:
            yield FieldError(
                f"{here}.on_hand", "out-of-range", "Give 0 or more, or nothing where nobody counts."
            )
    named = [(kind.wood, kind.thickness, kind.width, kind.length) for kind in kinds]
    if len(set(named)) != len(named):
        yield FieldError("stock", "twice", "The same board is named twice: add up its numbers in one row.")
