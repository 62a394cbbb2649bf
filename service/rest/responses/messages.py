"""What client and workshop wrote to each other, as JSON."""

from __future__ import annotations

from dataclasses import dataclass

from service.orders.messages import OrderMessage
from service.rest.responses.base import shown, shows


@shows(OrderMessage)
class MessageBody:
    """One message on an order."""


@dataclass(frozen=True)
class MessagesBody:
    """What client and workshop wrote to each other, oldest first."""

    items: tuple[MessageBody, ...]


def message_body(message: OrderMessage) -> MessageBody:
    """From a message."""
    return shown(MessageBody, message)
