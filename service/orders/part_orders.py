"""Part of an order earlier: which pieces go, and what they are called on either side afterwards."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Annotated

from pydantic import Field

from service.orders.errors import FieldError, InvalidError, NotFoundError
from service.orders.ids import ID_PATTERN, new_id
from service.orders.items import ItemPlace, Tick, place_of
from service.orders.limits import MOST_PIECES
from service.orders.order import Line


@dataclass(frozen=True)
class PartOfLine:
    """How much of a line is wanted earlier.

    Attributes:
        line_id: of the order that is split.
        quantity: how many of its pieces.
        pieces: which of them, by their numbers from 1; none named: the last so many.
    """

    line_id: Annotated[str, Field(pattern=ID_PATTERN)]
    quantity: Annotated[int, Field(ge=1, le=MOST_PIECES)]
    pieces: Annotated[tuple[int, ...], Field(max_length=MOST_PIECES)] = ()


@dataclass(frozen=True)
class LineSplit:
    """One line and what becomes of it.

    Attributes:
        taken: numbers of the pieces that go.
        stays: the line as it stays, ``None`` where all of it goes.
        goes: the line of the part.
    """

    line: Line
    taken: frozenset[int]
    stays: Line | None
    goes: Line

    def place(self, piece: int) -> tuple[bool, int]:
        """Whether a piece goes, and its number on its side from now on."""
        before = sum(other < piece for other in self.taken)
        return (True, before + 1) if piece in self.taken else (False, piece - before)


def split_lines(lines: Sequence[Line], asked: Sequence[PartOfLine], part_id: str) -> tuple[LineSplit, ...]:
    """What becomes of each line that something is taken of, in the order of the lines.

    Args:
        lines: all of the order.
        asked: what goes.
        part_id: of the order that it goes to.

    Raises:
        NotFoundError: there is no such line.
        InvalidError: more than there is, all of the order, or pieces that do not go together.
    """
    known = {line.id: line for line in lines}
    if not asked or len({each.line_id for each in asked}) < len(asked):
        raise InvalidError(FieldError("lines", "count", "Name at least one line, and each once."))
    if any(each.line_id not in known for each in asked):
        raise NotFoundError("line")
    problems = [
        problem for at, each in enumerate(asked) for problem in _problems(at, each, known[each.line_id])
    ]
    if problems:
        raise InvalidError(*problems)
    theirs = {each.line_id: each for each in asked}
    taken_of = [line for line in sorted(lines, key=lambda line: line.position) if line.id in theirs]
    splits = tuple(_split(line, theirs[line.id], part_id, at) for at, line in enumerate(taken_of, 1))
    if len(splits) == len(lines) and all(each.stays is None for each in splits):
        raise InvalidError(
            FieldError("lines", "all-of-it", "This is all of the order. Leave a piece, or release all of it.")
        )
    return splits


def moved_ticks(ticks: Iterable[Tick], splits: Iterable[LineSplit]) -> tuple[list[Tick], list[Tick]]:
    """What was said of boards of these lines: as it stays, and as it goes with the part."""
    by_position = {each.line.position: each for each in splits}
    stay: list[Tick] = []
    go: list[Tick] = []
    for tick in ticks:
        at = place_of(tick.key)
        split = by_position.get(at.line)
        if split is None:
            continue
        goes, piece = split.place(at.piece)
        line = split.goes.position if goes else at.line
        key = ItemPlace(line, piece, at.make, at.slat_key).key
        (go if goes else stay).append(replace(tick, key=key))
    return stay, go


def _problems(at: int, asked: PartOfLine, line: Line) -> Iterator[FieldError]:
    field = f"lines.{at}"
    named = set(asked.pieces)
    if asked.quantity > line.quantity:
        yield FieldError(
            f"{field}.quantity",
            "more-than-there-is",
            f"Line {line.position} has {line.quantity} pieces: {asked.quantity} of them cannot go earlier.",
        )
    elif asked.pieces and not len(named) == len(asked.pieces) == asked.quantity:
        yield FieldError(f"{field}.pieces", "count", f"Name {asked.quantity} pieces, each once, or none.")
    elif not named <= set(range(1, line.quantity + 1)):
        yield FieldError(
            f"{field}.pieces", "unknown", f"Line {line.position} has pieces 1 to {line.quantity}."
        )


def _split(line: Line, asked: PartOfLine, part_id: str, position: int) -> LineSplit:
    left = line.quantity - asked.quantity
    last = range(left + 1, line.quantity + 1)
    goes = replace(
        line,
        id=new_id(),
        order_id=part_id,
        position=position,
        quantity=asked.quantity,
        of_line=line.of_line or line.position,
    )
    stays = replace(line, quantity=left) if left else None
    return LineSplit(line, frozenset(asked.pieces or last), stays, goes)
