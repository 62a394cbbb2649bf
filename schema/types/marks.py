"""The workshop's own marks."""

from __future__ import annotations

from typing import Any

import strawberry

from schema.types.made import shows
from schema.types.node import API
from service.rest.responses.marks import MarkBody, OrderMarkBody


@shows(MarkBody, file_remarks="Those of its remarks that are about its file, in words.")
class Mark:
    """One version of a mark; `stale`: today's settings would give another cut, so it cannot be released."""

    @strawberry.field
    def picture_url(self: Any) -> str:
        """The picture that the maker approves."""
        return f"{API}/settings/marks/{self.id}/picture"


@shows(OrderMarkBody)
class OrderMark:
    """The mark on all `pieces` of one `line` of an order, by the line's position."""
