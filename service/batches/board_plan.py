"""The boards of an order as a batch holds them: one plan for boards needed, bed drawings, sheets and labels."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from service.boards.cut_parts import CutPart
from service.boards.wood_plan import WoodPlan

_OF_PART = tuple(name for name in CutPart.__dataclass_fields__ if name != "shift")
"""A batch has everything where it was signed."""


@dataclass(frozen=True)
class PlannedPart:
    """A part where it comes out of its board: its corner from the board's foot and from its left edge, mm."""

    part: CutPart
    along: float
    across: float


@dataclass(frozen=True)
class PlannedBoard:
    """One board.

    Attributes:
        number: within the order, from 1.
        name: what people call its kind.
        length, width, thickness: mm.
        wood: key of its wood, empty for any.
        offcut: whether it is one.
        parts: what comes out of it.
    """

    number: int
    name: str
    length: float
    width: float
    thickness: float
    wood: str
    offcut: bool
    parts: tuple[PlannedPart, ...]


def planned(plan: WoodPlan) -> tuple[PlannedBoard, ...]:
    """The boards of a plan, numbered."""
    return tuple(
        PlannedBoard(
            number,
            board.stock.name,
            board.stock.length,
            board.stock.width,
            board.stock.thickness,
            board.parts[0][0].wood if board.parts else board.stock.wood,
            board.offcut,
            tuple(PlannedPart(part, lying.along, lying.across) for part, lying in board.parts),
        )
        for number, board in enumerate(plan.boards, start=1)
    )


def boards_to_json(boards: Iterable[PlannedBoard]) -> list[dict[str, Any]]:
    """As a batch's listing has them."""
    return [
        {
            **{name: getattr(board, name) for name in PlannedBoard.__dataclass_fields__ if name != "parts"},
            "parts": [
                {
                    **{name: getattr(each.part, name) for name in _OF_PART},
                    "along": each.along,
                    "across": each.across,
                }
                for each in board.parts
            ],
        }
        for board in boards
    ]


def boards_from_json(plain: Sequence[Mapping[str, Any]]) -> tuple[PlannedBoard, ...]:
    """The boards that :func:`boards_to_json` came from."""
    return tuple(
        PlannedBoard(
            **{
                **board,
                "parts": tuple(
                    PlannedPart(
                        CutPart(**{name: each[name] for name in _OF_PART}), each["along"], each["across"]
                    )
                    for each in board["parts"]
                ),
            }
        )
        for board in plain
    )
