"""Queries about events, webhooks and what is sent to them."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta
from typing import Any

from sqlalchemy import ColumnElement, Connection, delete, func, insert, select, update

from service.orders.ids import new_id
from service.orders.webhooks import SECRET_PREFIX, Delivery, DeliveryState, Event, Webhook
from service.store.at_last import at_last
from service.store.bells import EVENTS, events_topic, tell
from service.store.counting import count_of
from service.store.mapping import AnyRow, Rows
from service.store.numbering import take_numbers
from service.store.tables import counters
from service.store.vault import vault_of
from service.store.webhook_tables import deliveries, events, webhooks

KEPT = timedelta(days=90)
"""Events, and messages that are done with, stay this long."""
HELD = timedelta(minutes=1)
"""For so long whoever sends a message has it alone; a try takes at most half of that."""
_DELIVERIES = Rows(Delivery)


def append_event(connection: Connection, workshop_id: str, event: Event) -> None:
    """Have an event written at the transaction's end."""
    at_last(connection, _write_events, workshop_id, event)


def _write_events(connection: Connection, workshop_id: str, new: Sequence[Event]) -> None:
    """Write events; their numbers are taken here, in this transaction, so numbers are committed in their order."""
    numbers = take_numbers(connection, "events", workshop_id, len(new))
    rows = [
        {**vars(event), "workshop_id": workshop_id, "number": number, "data": dict(event.data)}
        for number, event in zip(numbers, new, strict=True)
    ]
    connection.execute(insert(events), rows)
    tell(connection, events_topic(workshop_id))
    tell(connection, EVENTS)


def events_after(connection: Connection, workshop_id: str, number: int, most: int) -> list[Event]:
    """Events of a workshop after a number, in their order."""
    query = (
        select(events)
        .where(events.c.workshop_id == workshop_id, events.c.number > number)
        .order_by(events.c.number)
        .limit(most)
    )
    return [Event(row.number, row.kind, row.order_id, row.at, row.data) for row in connection.execute(query)]


def last_event(connection: Connection, workshop_id: str) -> int:
    """Number of the last event, 0 for none."""
    query = select(counters.c.events).where(counters.c.workshop_id == workshop_id)
    return int(connection.execute(query).scalar_one())


def forget_events(connection: Connection, before: datetime) -> None:
    """Remove events, and messages that are done with, from before then."""
    connection.execute(delete(events).where(events.c.at < before))
    done = deliveries.c.state != DeliveryState.WAITING.value
    connection.execute(delete(deliveries).where(done, deliveries.c.created_at < before))


def insert_webhook(connection: Connection, webhook: Webhook) -> None:
    """Store a new one."""
    connection.execute(insert(webhooks).values(_row(connection, webhook)))


def update_webhook(connection: Connection, webhook: Webhook) -> None:
    """Store what changed."""
    connection.execute(update(webhooks).where(webhooks.c.id == webhook.id).values(_row(connection, webhook)))


def delete_webhook(connection: Connection, webhook_id: str) -> None:
    """Remove it, with its messages."""
    connection.execute(delete(deliveries).where(deliveries.c.webhook_id == webhook_id))
    connection.execute(delete(webhooks).where(webhooks.c.id == webhook_id))


def webhooks_of(connection: Connection, workshop_id: str) -> list[Webhook]:
    """A workshop's webhooks, oldest first."""
    query = select(webhooks).where(webhooks.c.workshop_id == workshop_id)
    return [
        _webhook(connection, row)
        for row in connection.execute(query.order_by(webhooks.c.created_at, webhooks.c.id)).all()
    ]


def find_webhook(
    connection: Connection, workshop_id: str, webhook_id: str, *, lock: bool = False
) -> Webhook | None:
    """One of a workshop's webhooks."""
    query = select(webhooks).where(webhooks.c.workshop_id == workshop_id, webhooks.c.id == webhook_id)
    row = connection.execute(query.with_for_update() if lock else query).one_or_none()
    return None if row is None else _webhook(connection, row)


def behind(connection: Connection) -> list[tuple[str, str]]:
    """Workshop and id of webhooks that there are events for which were not looked at yet."""
    query = (
        select(webhooks.c.workshop_id, webhooks.c.id)
        .join(counters, counters.c.workshop_id == webhooks.c.workshop_id)
        .where(webhooks.c.enabled, webhooks.c.seen < counters.c.events)
    )
    return [(row.workshop_id, row.id) for row in connection.execute(query)]


def insert_delivery(connection: Connection, webhook_id: str, event: Event, body: str, now: datetime) -> None:
    """Put a message out, due at once."""
    made = Delivery(
        id=f"msg_{new_id()}",
        webhook_id=webhook_id,
        event=event.number,
        kind=event.kind,
        state=DeliveryState.WAITING,
        attempts=0,
        due_at=now,
        status=None,
        trouble="",
        created_at=now,
        delivered_at=None,
        body=body,
    )
    connection.execute(insert(deliveries).values(_DELIVERIES.row(made)))


def next_due(connection: Connection) -> datetime | None:
    """Since when a message is due, or when the next will be."""
    query = select(func.min(deliveries.c.due_at)).join(webhooks, webhooks.c.id == deliveries.c.webhook_id)
    due: datetime | None = connection.scalar(query.where(webhooks.c.enabled))
    return due


def take_due(connection: Connection, now: datetime) -> tuple[Delivery, Webhook] | None:
    """A message that is due, with its webhook; nobody else has it for a while."""
    due = (
        select(deliveries, webhooks.c.workshop_id)
        .join(webhooks, webhooks.c.id == deliveries.c.webhook_id)
        .where(deliveries.c.due_at <= now, webhooks.c.enabled)
        .order_by(deliveries.c.due_at)
        .limit(1)
        .with_for_update(skip_locked=True, of=deliveries)
    )
    row = connection.execute(due).one_or_none()
    if row is None:
        return None
    held = update(deliveries).where(deliveries.c.id == row.id)
    connection.execute(held.values(due_at=now + HELD))
    webhook = find_webhook(connection, row.workshop_id, row.webhook_id)
    return None if webhook is None else (_DELIVERIES.value(row), webhook)


def update_delivery(connection: Connection, delivery_id: str, **changes: Any) -> None:
    """Store how a try went."""
    stored = {name: each.value if isinstance(each, DeliveryState) else each for name, each in changes.items()}
    connection.execute(update(deliveries).where(deliveries.c.id == delivery_id).values(stored))


def deliveries_of(
    connection: Connection,
    webhook_id: str,
    state: DeliveryState | None,
    before: tuple[datetime, str] | None,
    most: int,
) -> list[Delivery]:
    """Messages of a webhook, newest first."""
    query = select(deliveries).where(_of_webhook(webhook_id, state))
    if before is not None:
        at, key = before
        earlier = (deliveries.c.created_at < at) | ((deliveries.c.created_at == at) & (deliveries.c.id < key))
        query = query.where(earlier)
    newest = query.order_by(deliveries.c.created_at.desc(), deliveries.c.id.desc()).limit(most)
    return _DELIVERIES.values(connection.execute(newest))


def count_deliveries(connection: Connection, webhook_id: str, state: DeliveryState | None) -> int:
    """How many messages there are; see :func:`service.store.counting.count_of`."""
    return count_of(connection, deliveries, _of_webhook(webhook_id, state))


def _of_webhook(webhook_id: str, state: DeliveryState | None) -> ColumnElement[bool]:
    of = deliveries.c.webhook_id == webhook_id
    return of if state is None else of & (deliveries.c.state == state.value)


def find_delivery(connection: Connection, workshop_id: str, delivery_id: str) -> Delivery | None:
    """One message of a workshop's webhooks."""
    query = (
        select(deliveries)
        .join(webhooks, webhooks.c.id == deliveries.c.webhook_id)
        .where(deliveries.c.id == delivery_id, webhooks.c.workshop_id == workshop_id)
    )
    row = connection.execute(query).one_or_none()
    return None if row is None else _DELIVERIES.value(row)


def _row(connection: Connection, webhook: Webhook) -> dict[str, Any]:
    secrets = {
        name: _sealed(connection, webhook, getattr(webhook, name)) for name in ("secret", "earlier_secret")
    }
    return {**vars(webhook), "kinds": list(webhook.kinds), **secrets}


def _sealed(connection: Connection, webhook: Webhook, secret: str) -> str:
    return (vault_of(connection).seal(secret.encode(), _whose(webhook.id)) if secret else None) or secret


def _whose(webhook_id: str) -> str:
    return f"secret of webhook {webhook_id}"


def _webhook(connection: Connection, row: AnyRow) -> Webhook:
    def opened(kept: str) -> str:
        if not kept or kept.startswith(SECRET_PREFIX):
            return kept
        return vault_of(connection).open(kept, _whose(row.id)).decode()

    given: dict[str, Any] = {name: getattr(row, name) for name in _PLAIN}
    kinds: Sequence[str] = row.kinds
    return Webhook(
        **given, kinds=tuple(kinds), secret=opened(row.secret), earlier_secret=opened(row.earlier_secret)
    )


_PLAIN = ("id", "workshop_id", "url", "enabled", "because", "earlier_until", "seen", "created_at")
