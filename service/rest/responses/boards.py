"""Test boards, as JSON."""

from __future__ import annotations

from dataclasses import dataclass

from service.orders.test_boards import ShopBoard
from service.rest.responses.base import shown, shows
from service.rest.responses.orders import API
from service.usecases.computing_boards import BoardReading
from service.usecases.test_boards import BoardSheet


@shows(ShopBoard, without=("workshop_id", "photograph", "content", "bit", "allowances"))
class TestBoardBody:
    """One test board; `accepted_as` is the revision of the workshop's settings that it is the evidence of."""

    bit_key: str
    species: str
    holding: str
    length: float
    width: float
    thickness: float
    photograph_url: str | None


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
    steps: tuple[str, ...]
    slots: tuple[BoardReading, ...]
    art: str


def board_body(board: ShopBoard) -> TestBoardBody:
    """As it is given."""
    content = board.content
    address = (
        f"{API}/test-boards/{board.id}/photograph?of={board.photograph[:8]}" if board.photograph else None
    )
    return shown(
        TestBoardBody,
        board,
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
