"""Entries of the record as whoever acts makes them."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from sqlalchemy import Connection

from service.orders.actors import Actor, Helper, Maker
from service.orders.chain import AuditEvent
from service.orders.record import EntryKind
from service.store import record
from service.usecases.context import Context

_LONGEST_ADDRESS = 64


def deed_of(actor: Actor, kind: EntryKind, at: datetime, **more: Any) -> AuditEvent:
    """What the actor does, with who they are and where from; ``more``: other fields of :class:`AuditEvent`."""
    name = actor.name if isinstance(actor, Maker | Helper) else ""
    return AuditEvent(kind, at, actor.identity, name=name, address=actor.address[:_LONGEST_ADDRESS], **more)


def enter_access(
    ctx: Context,
    connection: Connection,
    actor: Actor,
    facts: Mapping[str, object],
    order_id: str | None = None,
) -> None:
    """Enter who may come in, as changed, into the workshop's record; an order's row is locked before."""
    deed = deed_of(actor, EntryKind.ACCESS, ctx.clock.now(), order_id=order_id, facts=facts)
    record.append(connection, actor.workshop_id, deed)
