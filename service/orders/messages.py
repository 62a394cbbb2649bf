"""What client and workshop write to each other about an order."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

LONGEST_MESSAGE = 4000
MOST_MESSAGES = 500
"""On one order; whoever has more to say telephones."""


class Side(StrEnum):
    """Who wrote."""

    CLIENT = "client"
    WORKSHOP = "workshop"


@dataclass(frozen=True)
class OrderMessage:
    """One message on an order.

    Attributes:
        id: of the message.
        order_id: what it is about.
        side: who wrote.
        by: the name of whoever wrote, as it was then; empty where nobody gave one.
        words: what was written.
        at: when.
    """

    id: str
    order_id: str
    side: Side
    by: str
    words: str
    at: datetime
