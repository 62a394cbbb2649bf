"""What happens within an order as it happens, over graphql-transport-ws or server-sent events."""

from __future__ import annotations

from collections.abc import AsyncGenerator, AsyncIterator
from typing import cast

import anyio
import strawberry

from schema.context import ApiError, Graph, Info
from schema.types.orders import Order
from schema.types.work import Job
from service.orders.errors import NotFoundError
from service.rest.events import ASK_AGAIN_SECONDS
from service.rest.hearing import hearing
from service.store.bells import order_topic
from service.usecases import looking

LONGEST_SECONDS = 3600.0


@strawberry.type
class Subscription:
    """What happens as it happens."""

    @strawberry.subscription
    async def order_changed(self, info: Info, order_id: strawberry.ID) -> AsyncGenerator[Order, None]:
        """The order now, then again whenever anything within it changes."""
        graph, seen = info.context, -1
        async for _ in _moments(graph, order_id):
            activity = await _activity(info, order_id)
            if activity != seen:
                seen = activity
                graph.forget()
                order = await graph.orders.load(order_id)
                if order is None:
                    return
                yield cast("Order", order)

    @strawberry.subscription
    async def jobs_changed(self, info: Info, order_id: strawberry.ID) -> AsyncGenerator[list[Job], None]:
        """The background work of an order now, then again whenever it moves on."""
        graph, seen = info.context, None
        await _activity(info, order_id)
        async for _ in _moments(graph, order_id):
            graph.forget()
            jobs = await graph.jobs_of_order.load(order_id)
            if jobs != seen:
                seen = jobs
                yield cast("list[Job]", jobs)


async def _moments(graph: Graph, order_id: str) -> AsyncIterator[None]:
    """When to look at an order: whenever there is news, for as long as anybody may listen."""
    asked = begun = anyio.current_time()
    with hearing(graph.pipeline.bells, order_topic(order_id)) as heard:
        while (now := anyio.current_time()) < begun + LONGEST_SECONDS:
            if now - asked >= ASK_AGAIN_SECONDS:
                asked = now
                await graph.ask_again()
            yield
            await heard.news(min(heard.longest, asked + ASK_AGAIN_SECONDS - anyio.current_time()))


async def _activity(info: Info, order_id: str) -> int:
    try:
        return await info.context.run(looking.get_activity, order_id)
    except NotFoundError as error:
        raise ApiError("NOT_FOUND", str(error)) from None
