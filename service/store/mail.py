"""Queries about the letters of an order, for export and erasure; sending them is the mail room's."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from sqlalchemy import Connection, delete, select

from service.store.mail_tables import messages


def letters_of_order(connection: Connection, order_id: str) -> list[dict[str, Any]]:
    """Which letters were put out about an order, and when they went."""
    columns = (messages.c.kind, messages.c.facts, messages.c.created_at, messages.c.sent_at)
    query = select(*columns).where(messages.c.order_id == order_id).order_by(messages.c.created_at)
    return [dict(row) for row in connection.execute(query).mappings()]


def delete_letters_of_order(connection: Connection, order_id: str) -> None:
    """Forget them, sent or not."""
    connection.execute(delete(messages).where(messages.c.order_id == order_id))


def delete_old_letters(connection: Connection, before: datetime) -> None:
    """Forget mail about no order that went before then."""
    connection.execute(delete(messages).where(messages.c.order_id.is_(None), messages.c.sent_at < before))
