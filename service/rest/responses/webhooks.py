"""Webhooks and events, as JSON."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated, Any

from pydantic import Field

from service.orders.webhooks import Delivery, Event, Webhook
from service.rest.responses.base import Total, shown, shows
from service.rest.responses.orders import next_cursor
from service.usecases.answers import Page


@shows(Event)
class EventBody:
    """Something that happened in the workshop."""

    data: Annotated[
        Mapping[str, Any],
        Field(
            description="`number`, `state`, `activity` of the order; of a carving `carving_id`, `carving_state`"
        ),
    ]


@dataclass(frozen=True)
class EventsBody:
    """Events in their order; go on with `after` = the last one's `number`."""

    items: tuple[EventBody, ...]


@shows(Webhook, without=("workshop_id", "secret", "earlier_secret", "seen"))
class WebhookBody:
    """Where events are sent."""


@shows(Webhook, without=("workshop_id", "earlier_secret", "seen"))
class NewWebhookBody:
    """A webhook with its secret: it is shown this once."""


@dataclass(frozen=True)
class WebhooksBody:
    """The workshop's webhooks, oldest first."""

    items: tuple[WebhookBody, ...]


@shows(Delivery)
class DeliveryBody:
    """One message to a webhook."""


@dataclass(frozen=True)
class DeliveriesBody:
    """One page of messages, newest first."""

    items: tuple[DeliveryBody, ...]
    next: str | None
    total: Total


def event_body(event: Event) -> EventBody:
    """From an event."""
    return shown(EventBody, event)


def webhook_body(webhook: Webhook) -> WebhookBody:
    """From a webhook."""
    return shown(WebhookBody, webhook)


def new_webhook_body(webhook: Webhook) -> NewWebhookBody:
    """From one just made, or given a new secret."""
    return shown(NewWebhookBody, webhook)


def delivery_body(delivery: Delivery) -> DeliveryBody:
    """From a message."""
    return shown(DeliveryBody, delivery)


def deliveries_body(page: Page[Delivery]) -> DeliveriesBody:
    """From one page of messages."""
    return DeliveriesBody(tuple(delivery_body(each) for each in page.items), next_cursor(page), page.total)
