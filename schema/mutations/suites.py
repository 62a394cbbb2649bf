"""Runs of texts and pictures over several slats."""

from __future__ import annotations

from dataclasses import asdict

import strawberry
from strawberry.scalars import JSON

from schema.context import Info
from schema.inputs import SuiteShownInput, checked
from schema.mutations.outcome import OrderOutcome, change
from service.orders.actors import Actor
from service.rest.asks.suites import AcrossAsk, NamesAsk, TogetherAsk
from service.usecases import approving, suites
from service.usecases.answers import WholeOrder
from service.usecases.context import Context


@strawberry.type
class SuiteMutations:
    """Part of the mutations."""

    @strawberry.mutation
    async def set_names(
        self, info: Info, order_id: strawberry.ID, expected_revision: int, names: JSON
    ) -> OrderOutcome:
        """Carve a text of its own on every piece of a line; `names` is the REST door's `NamesAsk`."""

        def work(ctx: Context, actor: Actor) -> WholeOrder:
            content = checked(NamesAsk, names).content()
            return suites.set_names(ctx, actor, order_id, expected_revision, content)

        return await change(info.context, work)

    @strawberry.mutation
    async def lay_across(
        self, info: Info, order_id: strawberry.ID, expected_revision: int, across: JSON
    ) -> OrderOutcome:
        """Lay one picture over several slats of a line; `across` is the REST door's `AcrossAsk`."""

        def work(ctx: Context, actor: Actor) -> WholeOrder:
            content = checked(AcrossAsk, across).content()
            return suites.lay_across(ctx, actor, order_id, expected_revision, content)

        return await change(info.context, work)

    @strawberry.mutation
    async def check_suite(self, info: Info, suite_id: strawberry.ID, expected_revision: int) -> OrderOutcome:
        """Make and judge all of it again under today's settings; the revision is the order's."""
        return await change(
            info.context, lambda ctx, actor: suites.check_suite(ctx, actor, suite_id, expected_revision)
        )

    @strawberry.mutation
    async def drop_suite(self, info: Info, suite_id: strawberry.ID, expected_revision: int) -> OrderOutcome:
        """Take a run of texts, or a large picture, off its slats; the revision is the order's."""
        return await change(
            info.context, lambda ctx, actor: suites.drop_suite(ctx, actor, suite_id, expected_revision)
        )

    @strawberry.mutation
    async def waive_together(
        self, info: Info, order_id: strawberry.ID, whole: SuiteShownInput, kinds: list[str]
    ) -> OrderOutcome:
        """Accept every remark of some kinds in a whole list or picture, as the client."""
        given = {"whole": asdict(whole), "kinds": kinds}

        def work(ctx: Context, actor: Actor) -> WholeOrder:
            ask = checked(TogetherAsk, given)
            return approving.waive_together(ctx, actor, ask.shown(), ask.kinds, order_id)

        return await change(info.context, work)
