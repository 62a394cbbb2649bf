"""What happens within an order as it happens, over graphql-transport-ws or server-sent events."""

from __future__ import annotations

from collections.abc import AsyncGenerator
from typing import cast

import anyio
import strawberry

from schema.context import Denied, Info
from schema.types.orders import Order
from schema.types.work import Job
from service.orders.errors import NotFound
from service.usecases import looking

LOOK_SECONDS = 0.5
LONGEST_SECONDS = 3600.0


@strawberry.type
class Subscription:
    """What happens as it happens."""

    @strawberry.subscription
    async def order_changed(self, info: Info, order_id: strawberry.ID) -> AsyncGenerator[Order, None]:
        """The order now, then again whenever anything within it changes."""
        graph = info.context
        seen, end = -1, anyio.current_time() + LONGEST_SECONDS
        while anyio.current_time() < end:
            activity = await _activity(info, order_id)
            if activity != seen:
                seen = activity
                graph.forget()
                order = await graph.orders.load(order_id)
                if order is None:
                    return
                yield cast("Order", order)
            await anyio.sleep(LOOK_SECONDS)

    @strawberry.subscription
    async def jobs_changed(self, info: Info, order_id: strawberry.ID) -> AsyncGenerator[list[Job], None]:
        """The background work of an order now, then again whenever it moves on."""
        graph = info.context
        seen, end = None, anyio.current_time() + LONGEST_SECONDS
        await _activity(info, order_id)
        while anyio.current_time() < end:
            graph.forget()
            jobs = await graph.jobs_of_order.load(order_id)
            if jobs != seen:
                seen = jobs
                yield cast("list[Job]", jobs)
            await anyio.sleep(LOOK_SECONDS)


async def _activity(info: Info, order_id: str) -> int:
    try:
        return await info.context.run(looking.get_activity, order_id)
    except NotFound as error:
        raise Denied("NOT_FOUND", str(error)) from None
