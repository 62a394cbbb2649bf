"""What client and workshop write to each other."""

from __future__ import annotations

from schema.types.made import shows
from service.orders import messages


@shows(messages.OrderMessage, without=("order_id",))
class OrderMessage:
    """One message on an order."""
