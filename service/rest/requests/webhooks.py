"""Webhooks and events, as they are asked for."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from service.orders.webhooks import LONGEST_URL, DeliveryState
from service.rest.requests.base import Ask, PageQuery

EventKind = Annotated[str, Field(pattern=r"^(order|carving)(\.[a-z-]{1,40})?$")]


class WebhookAsk(Ask):
    """Where events are to be sent, and which."""

    url: Annotated[
        str, Field(min_length=1, max_length=LONGEST_URL, description="`https:` address of the receiver")
    ]
    kinds: Annotated[
        tuple[EventKind, ...],
        Field(
            max_length=50,
            description="kinds of events (`order.submit`), or all of `order` or `carving`; none: all",
        ),
    ] = ()


class EventsQuery(Ask):
    """Which events."""

    after: Annotated[int, Field(ge=0, lt=2**31, description="number of the last event had, or 0")] = 0
    first: Annotated[int, Field(ge=1, le=100, description="how many")] = 50


class DeliveriesQuery(PageQuery):
    """Which messages of a webhook."""

    state: Annotated[DeliveryState | None, Field(description="those in this state")] = None
