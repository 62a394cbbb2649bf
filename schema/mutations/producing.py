"""Batches, clients' links and privacy."""

from __future__ import annotations

from typing import Annotated, cast

import strawberry

from schema.context import Info
from schema.inputs import checked
from schema.mutations.ordering import OnceKey
from schema.mutations.outcome import OrderOutcome, attempt, change, once
from schema.outcomes import Conflict, Invalid, NotAllowed, NotFound, Stale, TooMany
from schema.types.batches import Batch
from service.orders import work
from service.rest.asks.cutting import BatchAsk
from service.usecases import keeping, people, producing


@strawberry.type
class BatchTaken:
    """The batch is being put together; ask for it again until its archive is there."""

    batch: Batch


BatchOutcome = Annotated[
    BatchTaken | Stale | Invalid | NotAllowed | NotFound | Conflict | TooMany,
    strawberry.union("BatchOutcome", description="How asking for a batch went."),
]


@strawberry.type
class LinksChanged:
    """It was done."""

    revoked: int = strawberry.field(description="How many links were good until now.")


LinksOutcome = Annotated[
    LinksChanged | Stale | Invalid | NotAllowed | NotFound | Conflict | TooMany,
    strawberry.union("LinksOutcome", description="How a change of an order's links went."),
]


@strawberry.type
class ProducingMutations:
    """Part of the mutations."""

    @strawberry.mutation
    async def take_batch(
        self, info: Info, order_ids: list[strawberry.ID], once_key: OnceKey = None
    ) -> BatchOutcome:
        """Ask for the archive of released orders."""
        key = once(once_key, "takeBatch", order_ids)
        done = await attempt(
            info.context,
            lambda ctx, actor: producing.take_batch(
                ctx, actor, checked(BatchAsk, {"order_ids": order_ids}).order_ids, key
            ),
        )
        return BatchTaken(batch=cast("Batch", done)) if isinstance(done, work.Batch) else done

    @strawberry.mutation
    async def erase_client(self, info: Info, order_id: strawberry.ID, expected_revision: int) -> OrderOutcome:
        """Erase the client's particulars, art and pictures; the record stays verifiable."""
        return await change(
            info.context, lambda ctx, actor: keeping.erase_client(ctx, actor, order_id, expected_revision)
        )

    @strawberry.mutation
    async def mail_link(self, info: Info, order_id: strawberry.ID) -> LinksOutcome:
        """Mail the client a new link."""
        done = await attempt(info.context, lambda ctx, actor: people.mail_client_link(ctx, actor, order_id))
        return LinksChanged(revoked=0) if done is None else done

    @strawberry.mutation
    async def revoke_links(
        self, info: Info, order_id: strawberry.ID, link_id: strawberry.ID | None = None
    ) -> LinksOutcome:
        """Revoke one link of an order, or all of them."""
        done = await attempt(
            info.context, lambda ctx, actor: people.revoke_client_links(ctx, actor, order_id, link_id)
        )
        return LinksChanged(revoked=done) if isinstance(done, int) else done
