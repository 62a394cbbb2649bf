"""What one writes about an order."""

from __future__ import annotations

from typing import Annotated

from pydantic import StringConstraints

from service.orders.messages import LONGEST_MESSAGE
from service.rest.requests.base import Ask


class MessageAsk(Ask):
    """What one writes to the other side."""

    words: Annotated[str, StringConstraints(strip_whitespace=True, min_length=1, max_length=LONGEST_MESSAGE)]
