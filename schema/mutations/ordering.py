"""Orders: placed, amended, sent off, cancelled, ordered again, released, made."""

from __future__ import annotations

from dataclasses import asdict
from typing import Annotated, Any, cast

import strawberry

from schema.context import Graph, Info
from schema.inputs import OrderInput, ShownInput, SuiteShownInput, checked
from schema.mutations.outcome import OrderOutcome, attempt, change, once
from schema.outcomes import Conflict, Invalid, NotAllowed, NotFound, Refusals, Stale, TooMany
from schema.types.orders import Order
from service.orders.actors import Actor
from service.rest.asks.cutting import ProofsAsk
from service.rest.asks.orders import OrderAsk, ReasonAsk
from service.usecases import ordering, producing
from service.usecases.answers import PlacedOrder, WholeOrder
from service.usecases.context import Context

OnceKey = Annotated[
    str | None, strawberry.argument(description="Your own text: the same call again gives the first answer.")
]


@strawberry.type
class OrderPlaced:
    """A new draft, and the secret of its client's link: it is shown this once."""

    order: Order
    link_token: str


PlaceOutcome = Annotated[
    OrderPlaced | Stale | Invalid | NotAllowed | NotFound | Conflict | TooMany,
    strawberry.union("PlaceOutcome", description="How placing an order went."),
]


def _placed(graph: Graph, done: PlacedOrder | Refusals) -> PlaceOutcome:
    if isinstance(done, PlacedOrder):
        graph.show(done.whole)
        return OrderPlaced(order=cast("Order", done.whole.order), link_token=done.link_token)
    return done


SuitesShownInput = Annotated[
    list[SuiteShownInput] | None,
    strawberry.argument(description="Whole lists and large pictures decided about."),
]


def decided(shown: list[ShownInput], whole: SuitesShownInput) -> dict[str, Any]:
    """What was shown, as the REST door takes it."""
    return {"shown": [asdict(one) for one in shown], "whole": [asdict(one) for one in whole or []]}


def reason_of(reason: str) -> str:
    """A reason, checked. Raises Invalid."""
    return checked(ReasonAsk, {"reason": reason}).reason


@strawberry.type
class OrderingMutations:
    """Part of the mutations."""

    @strawberry.mutation
    async def place_order(
        self, info: Info, workshop: str, order: OrderInput, once_key: OnceKey = None
    ) -> PlaceOutcome:
        """Place an order at a workshop (its public key); it starts as a draft."""
        key = once(once_key, "placeOrder", [workshop, asdict(order)])
        done = await attempt(
            info.context,
            lambda ctx, actor: ordering.place_order(ctx, actor, checked(OrderAsk, order).value(), key),
            workshop,
        )
        return _placed(info.context, done)

    @strawberry.mutation
    async def amend_order(
        self, info: Info, order_id: strawberry.ID, expected_revision: int, order: OrderInput
    ) -> OrderOutcome:
        """Replace what an order says; a line whose model or quantity changes loses its approvals."""
        return await change(
            info.context,
            lambda ctx, actor: ordering.amend_order(
                ctx, actor, order_id, expected_revision, checked(OrderAsk, order).value()
            ),
        )

    @strawberry.mutation
    async def submit_order(self, info: Info, order_id: strawberry.ID, expected_revision: int) -> OrderOutcome:
        """Send a complete draft to the maker."""
        return await change(
            info.context,
            lambda ctx, actor: ordering.submit_order(ctx, actor, order_id, expected_revision),
        )

    @strawberry.mutation
    async def cancel_order(
        self, info: Info, order_id: strawberry.ID, expected_revision: int, reason: str
    ) -> OrderOutcome:
        """Cancel an order, with a reason."""
        return await change(
            info.context,
            lambda ctx, actor: ordering.cancel_order(
                ctx, actor, order_id, expected_revision, reason_of(reason)
            ),
        )

    @strawberry.mutation
    async def reorder(self, info: Info, order_id: strawberry.ID, once_key: OnceKey = None) -> PlaceOutcome:
        """Order the same again: a new draft, checked under today's settings."""
        key = once(once_key, "reorder", [order_id])
        done = await attempt(info.context, lambda ctx, actor: ordering.reorder(ctx, actor, order_id, key))
        return _placed(info.context, done)

    @strawberry.mutation
    async def release_order(
        self,
        info: Info,
        order_id: strawberry.ID,
        expected_revision: int,
        shown: list[ShownInput],
        whole: SuitesShownInput = None,
    ) -> OrderOutcome:
        """Release a fully approved order; `shown` and `whole` name the proofs of every carving."""

        def work(ctx: Context, actor: Actor) -> WholeOrder:
            ask = checked(ProofsAsk, decided(shown, whole))
            seen, together = ask.all_shown(), ask.all_whole()
            return producing.release(ctx, actor, order_id, expected_revision, seen, whole=together)

        return await change(info.context, work)

    @strawberry.mutation
    async def recall_order(
        self, info: Info, order_id: strawberry.ID, expected_revision: int, reason: str
    ) -> OrderOutcome:
        """Take a release back, with a reason."""
        return await change(
            info.context,
            lambda ctx, actor: producing.recall(ctx, actor, order_id, expected_revision, reason_of(reason)),
        )

    @strawberry.mutation
    async def start_production(
        self, info: Info, order_id: strawberry.ID, expected_revision: int
    ) -> OrderOutcome:
        """Say that the first board is on the machine."""
        return await change(
            info.context,
            lambda ctx, actor: producing.start_production(ctx, actor, order_id, expected_revision),
        )

    @strawberry.mutation
    async def finish_production(
        self, info: Info, order_id: strawberry.ID, expected_revision: int
    ) -> OrderOutcome:
        """Say that all pieces are done."""
        return await change(
            info.context,
            lambda ctx, actor: producing.finish_production(ctx, actor, order_id, expected_revision),
        )
