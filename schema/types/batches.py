"""Batches: what is exported."""

from __future__ import annotations

from typing import Any

import strawberry

from schema.context import Info
from schema.types.made import shows
from schema.types.node import API, Node
from schema.types.orders import Order
from service.orders import work


@shows(work.Batch, without=("workshop_id",), archive="SHA-256 of the archive, once ready.")
class Batch(Node):
    """The released art of some orders, exported as one archive."""

    @strawberry.field
    async def orders(self: Any, info: Info) -> list[Order]:
        """The orders in it."""
        found: list[Order] = await info.context.orders.load_many(self.order_ids)
        return found

    @strawberry.field
    def archive_url(self: Any) -> str | None:
        """Where to get it, once ready."""
        return f"{API}/batches/{self.id}/archive" if self.archive else None
