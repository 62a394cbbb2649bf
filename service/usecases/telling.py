"""What others are told of an order: events for the workshop's sites, letters for people."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from types import MappingProxyType
from typing import Any

from sqlalchemy import Connection

from service.orders.letters import Letter, LetterKind
from service.orders.order import Order
from service.orders.site import OrderKind
from service.orders.webhooks import Event
from service.store import webhooks
from service.usecases.context import Context


def write_event(
    connection: Connection,
    order: Order,
    kind: str,
    at: datetime,
    more: Mapping[str, Any] = MappingProxyType({}),
) -> None:
    """Write one event about an order into its workshop's events; it names nobody."""
    data = {"number": order.number, "state": order.state.value, "activity": order.activity, **more}
    data["order_kind"] = order.kind.value
    webhooks.append_event(connection, order.workshop_id, Event(0, kind, order.id, at, data))


def write_letter(
    ctx: Context,
    connection: Connection,
    order: Order,
    kind: LetterKind,
    *,
    about: str,
    **facts: Any,
) -> None:
    """Put out a letter about an order, once per kind and ``about``; nobody is written to about checks and tests."""
    if order.kind is not OrderKind.ORDER:
        return
    key = f"{kind.value}:{order.id}:{about}"
    ctx.outbox.put(connection, Letter(key, order.workshop_id, order.id, kind, facts))
