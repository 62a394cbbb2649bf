"""Batches: what is exported."""

from __future__ import annotations

from datetime import datetime
from typing import Any

import strawberry

from schema.context import Info
from schema.types.enums import BatchState
from schema.types.node import API, Node
from schema.types.orders import Order
from service.orders import work


@strawberry.type
class Batch(Node):
    """The released art of some orders, exported as one archive."""

    order_ids: list[strawberry.ID]
    state: BatchState
    archive: str | None = strawberry.field(description="SHA-256 of the archive, once ready.")
    size: int | None
    message: str
    created_at: datetime

    @strawberry.field
    async def orders(self: Any, info: Info) -> list[Order]:
        """The orders in it."""
        found: list[Order] = await info.context.orders.load_many(self.order_ids)
        return found

    @strawberry.field
    def archive_url(self: Any) -> str | None:
        """Where to get it, once ready."""
        return f"{API}/batches/{self.id}/archive" if self.archive else None

    @classmethod
    def is_type_of(cls, value: object, _info: object) -> bool:
        """Values of the rules are given as they are."""
        return isinstance(value, work.Batch)
