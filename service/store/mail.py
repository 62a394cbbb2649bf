"""Queries about the letters of an order, for export and erasure; sending them is the mail room's."""

from __future__ import annotations

import json
from datetime import datetime
from typing import Any

from sqlalchemy import ColumnElement, Connection, delete, func, select

from service.store.mail_tables import messages


def letters_of_order(connection: Connection, order_id: str) -> list[dict[str, Any]]:
    """Which letters were put out about an order, and when they went."""
    columns = (messages.c.kind, messages.c.facts, messages.c.created_at, messages.c.sent_at)
    query = select(*columns).where(messages.c.order_id == order_id).order_by(messages.c.created_at)
    return [dict(row) for row in connection.execute(query).mappings()]


def delete_letters_of_order(connection: Connection, order_id: str) -> tuple[str, ...]:
    """Forget them, sent or not; their ids."""
    of_order = messages.c.order_id == order_id
    ids = tuple(connection.scalars(select(messages.c.id).where(of_order)))
    connection.execute(delete(messages).where(of_order))
    return ids


def newest_facts(connection: Connection, workshop_id: str, kind: str) -> dict[str, Any]:
    """The facts of the last mail of a kind about no order; none where there was none."""
    about = (messages.c.workshop_id == workshop_id, messages.c.kind == kind, messages.c.order_id.is_(None))
    newest = select(messages.c.facts).where(*about).order_by(messages.c.created_at.desc()).limit(1)
    found = connection.scalar(newest)
    return {} if found is None else dict(json.loads(found))


def delete_old_letters(connection: Connection, before: datetime) -> None:
    """Forget mail about no order that went before then."""
    connection.execute(delete(messages).where(messages.c.order_id.is_(None), messages.c.sent_at < before))


def waiting_letters(connection: Connection, workshop_id: str | None) -> tuple[int, datetime | None]:
    """How many messages are to be sent, and since when the oldest waits; of one workshop, or of all."""
    query = select(func.count(), func.min(messages.c.created_at)).where(
        messages.c.due_at.is_not(None), *_of(workshop_id)
    )
    count, since = connection.execute(query).one()
    return count, since


def count_lost_letters(connection: Connection, after: datetime, workshop_id: str | None) -> int:
    """How many messages put out after then were given up."""
    given_up = messages.c.due_at.is_(None), messages.c.sent_at.is_(None), messages.c.created_at > after
    query = select(func.count()).where(*given_up, *_of(workshop_id))
    return connection.execute(query).scalar_one()


def _of(workshop_id: str | None) -> tuple[ColumnElement[bool], ...]:
    return () if workshop_id is None else (messages.c.workshop_id == workshop_id,)
