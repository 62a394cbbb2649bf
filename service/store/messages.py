"""Queries about what client and workshop write to each other."""

from __future__ import annotations

from sqlalchemy import Connection, delete, func, insert, select

from service.orders.messages import OrderMessage
from service.store.message_tables import order_messages
from service.store.rows import MESSAGES
from service.store.tenant_scope import TenantScope


def insert_message(connection: Connection, workshop_id: str, message: OrderMessage) -> None:
    """Store a new one."""
    connection.execute(insert(order_messages).values(MESSAGES.row(message, workshop_id=workshop_id)))


def messages_of_order(connection: Connection, reach: TenantScope) -> list[OrderMessage]:
    """Of an order, oldest first; ``reach`` names the order."""
    query = select(order_messages).where(*reach.within(order_messages))
    return MESSAGES.values(connection.execute(query.order_by(order_messages.c.at, order_messages.c.id)))


def count_messages(connection: Connection, order_id: str) -> int:
    """How many an order has."""
    query = select(func.count()).where(order_messages.c.order_id == order_id)
    return connection.execute(query).scalar_one()


def delete_messages_of_order(connection: Connection, order_id: str) -> None:
    """They go with the client's other particulars."""
    connection.execute(delete(order_messages).where(order_messages.c.order_id == order_id))
