"""What a workshop asks for its work."""

from __future__ import annotations

from typing import Annotated

import strawberry
from strawberry.scalars import JSON

from schema.context import Info
from schema.inputs import checked
from schema.mutations.outcome import attempt
from schema.outcomes import Conflict, Invalid, NotAllowed, NotFound, Stale, TooMany
from schema.types.prices import PriceList, price_list_of
from service.orders.actors import Actor
from service.rest.asks.prices import PricesAsk
from service.rest.bodies.prices import prices_body
from service.usecases import pricing
from service.usecases.context import Context


@strawberry.type
class PricesSaved:
    """It was done."""

    prices: PriceList


PricesOutcome = Annotated[
    PricesSaved | Stale | Invalid | NotAllowed | NotFound | Conflict | TooMany,
    strawberry.union("PricesOutcome", description="How saving the price list went."),
]


@strawberry.type
class PricesMutations:
    """Part of the mutations."""

    @strawberry.mutation
    async def save_prices(self, info: Info, prices: JSON, expected_version: int) -> PricesOutcome:
        """Save a new version of the price list (version 0: the first); `prices` is REST's `PricesAsk`."""

        def work(ctx: Context, actor: Actor) -> pricing.DatedPrices:
            content = checked(PricesAsk, prices).content()
            return pricing.save_prices(ctx, actor, content, expected_version)

        done = await attempt(info.context, work)
        if isinstance(done, pricing.DatedPrices):
            return PricesSaved(prices=price_list_of(prices_body(done)))
        return done
