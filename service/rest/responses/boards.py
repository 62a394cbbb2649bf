"""Test boards, as JSON."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated

from pydantic import Field

from service.orders.test_boards import ShopBoard
from service.rest.responses.base import shown, shows
from service.rest.responses.orders import API
from service.usecases.computing_boards import BoardReading
from service.usecases.test_boards import BoardSheet


@dataclass(frozen=True)
class AcceptedFigureBody:
    """One of the workshop's own figures that a test board changed."""

    before: Annotated[float, Field(description="the value until then, in the figure's own unit")]
    after: Annotated[float, Field(description="the value from then on, in the same unit")]


@shows(ShopBoard, without=("workshop_id", "photograph", "content", "bit", "allowances"))
class TestBoardBody:
    """One test board; `accepted_as` is the revision of the workshop's settings that it is the evidence of."""

    bit_key: str
    species: str
    holding: Annotated[str, Field(description="how the board is held")]
    length: Annotated[float, Field(description="along the grain, mm")]
    width: Annotated[float, Field(description="mm")]
    thickness: Annotated[float, Field(description="mm")]
    photograph_url: Annotated[str | None, Field(description="of the photograph; null for none")]
    accepted: Annotated[
        Mapping[str, AcceptedFigureBody] | None,
        Field(description="what was changed, by the figure's name; null before it is accepted"),
    ]


@dataclass(frozen=True)
class TestBoardsBody:
    """The workshop's test boards, newest first."""

    items: tuple[TestBoardBody, ...]


@dataclass(frozen=True)
class TestBoardSheetBody:
    """A board, what is done with it, and every reading that can be taken, in the order of work.

    `art`: what is carved, SVG path data in mm, y downwards from the board's lower edge.
    """

    board: TestBoardBody
    steps: Annotated[tuple[str, ...], Field(description="what is done with it, in order")]
    slots: Annotated[tuple[BoardReading, ...], Field(description="readings that can be taken, in order")]
    art: Annotated[str, Field(description="what is carved, SVG path data, mm")]


def board_body(board: ShopBoard) -> TestBoardBody:
    """As it is given."""
    content = board.content
    address = (
        f"{API}/test-boards/{board.id}/photograph?of={board.photograph[:8]}" if board.photograph else None
    )
    accepted = (
        None
        if board.accepted is None
        else {name: AcceptedFigureBody(*values) for name, values in board.accepted.items()}
    )
    return shown(
        TestBoardBody,
        board,
        accepted=accepted,
        bit_key=board.bit.key,
        species=content.species,
        holding=content.holding,
        length=content.length,
        width=content.width,
        thickness=content.thickness,
        photograph_url=address,
    )


def sheet_body(sheet: BoardSheet) -> TestBoardSheetBody:
    """As it is given."""
    laid_out = sheet.laid_out
    return TestBoardSheetBody(board_body(sheet.board), laid_out.steps, laid_out.readings, laid_out.art)
