"""Queries about the workshop's own marks."""

from __future__ import annotations

from collections.abc import Sequence

from sqlalchemy import Connection, insert, select, update

from service.orders.ids import ids_among
from service.orders.standing_mark import StandingMark
from service.store.mark_tables import marks
from service.store.rows import MARKS
from service.store.sharing import asked_once


def insert_mark(connection: Connection, mark: StandingMark) -> None:
    """A new version."""
    connection.execute(insert(marks).values(MARKS.row(mark)))


def update_mark(connection: Connection, mark: StandingMark) -> None:
    """Its approval, or its end."""
    values = {"approved_at": mark.approved_at, "approval": mark.approval, "ended_at": mark.ended_at}
    connection.execute(update(marks).where(marks.c.id == mark.id).values(values))


@asked_once
def all_marks(connection: Connection, workshop_id: str) -> list[StandingMark]:
    """Every version the workshop ever had, newest first within each slat."""
    query = select(marks).where(marks.c.workshop_id == workshop_id)
    ordered = query.order_by(marks.c.model_key, marks.c.slat_key, marks.c.version.desc())
    return MARKS.values(connection.execute(ordered))


def marks_by_ids(connection: Connection, workshop_id: str, ids: Sequence[str]) -> dict[str, StandingMark]:
    """Those of the workshop's versions, by id."""
    query = select(marks).where(marks.c.workshop_id == workshop_id, marks.c.id.in_(ids_among(ids)))
    return {row.id: MARKS.value(row) for row in connection.execute(query)}
