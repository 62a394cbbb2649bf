"""Queries about test boards."""

from __future__ import annotations

from sqlalchemy import Connection, func, insert, select, update

from service.orders.test_boards import ShopBoard
from service.store.board_tables import test_boards
from service.store.rows import TEST_BOARDS


def next_number(connection: Connection, workshop_id: str) -> int:
    """Of the workshop's next board; the caller holds the workshop's settings."""
    query = select(func.max(test_boards.c.number)).where(test_boards.c.workshop_id == workshop_id)
    return (connection.execute(query).scalar_one_or_none() or 0) + 1


def insert_board(connection: Connection, board: ShopBoard) -> None:
    """A new one."""
    connection.execute(insert(test_boards).values(TEST_BOARDS.row(board)))


def update_board(connection: Connection, board: ShopBoard) -> None:
    """One that was changed."""
    connection.execute(update(test_boards).where(test_boards.c.id == board.id).values(TEST_BOARDS.row(board)))


def all_boards(connection: Connection, workshop_id: str) -> list[ShopBoard]:
    """The workshop's boards, newest first."""
    query = select(test_boards).where(test_boards.c.workshop_id == workshop_id)
    return TEST_BOARDS.values(connection.execute(query.order_by(test_boards.c.number.desc())))


def find_board(
    connection: Connection, workshop_id: str, board_id: str, *, lock: bool = False
) -> ShopBoard | None:
    """One of the workshop's boards."""
    query = select(test_boards).where(test_boards.c.workshop_id == workshop_id, test_boards.c.id == board_id)
    row = connection.execute(query.with_for_update() if lock else query).one_or_none()
    return None if row is None else TEST_BOARDS.value(row)
