"""The workshop's own marks: proposed, approved, ended."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import asdict
from typing import Annotated

import strawberry

from schema.context import Info
from schema.inputs import ShownInput, checked
from schema.mutations.outcome import attempt
from schema.outcomes import Conflict, Invalid, NotAllowed, NotFound, Stale, TooMany
from schema.types.marks import Mark, mark_of
from service.orders.actors import Actor
from service.rest.asks.cutting import ShownAsk
from service.rest.asks.marks import MarkApprovalAsk
from service.rest.bodies.marks import mark_body
from service.usecases import marking
from service.usecases.context import Context
from service.usecases.marking import ShownMark


@strawberry.type
class MarkChanged:
    """It was done."""

    mark: Mark


MarkOutcome = Annotated[
    MarkChanged | Stale | Invalid | NotAllowed | NotFound | Conflict | TooMany,
    strawberry.union("MarkOutcome", description="How it went with a mark."),
]


@strawberry.type
class MarkMutations:
    """Part of the mutations."""

    @strawberry.mutation
    async def propose_mark(self, info: Info, shown: ShownInput) -> MarkOutcome:
        """Take the current proof of a draft's carving as the next version of the mark on its slat."""

        def work(ctx: Context, actor: Actor) -> ShownMark:
            return marking.propose_mark(ctx, actor, checked(ShownAsk, asdict(shown)).shown())

        return await _change(info, work)

    @strawberry.mutation
    async def approve_mark(
        self, info: Info, mark_id: strawberry.ID, digest: str, picture: str
    ) -> MarkOutcome:
        """Approve a version of a mark, with its remarks, by what was shown of it."""

        def work(ctx: Context, actor: Actor) -> ShownMark:
            ask = checked(MarkApprovalAsk, {"digest": digest, "picture": picture})
            return marking.approve_mark(ctx, actor, mark_id, ask.digest, ask.picture)

        return await _change(info, work)

    @strawberry.mutation
    async def end_mark(self, info: Info, mark_id: strawberry.ID) -> MarkOutcome:
        """Carve a version of a mark no longer, in what is released from now on."""
        return await _change(info, lambda ctx, actor: marking.end_mark(ctx, actor, mark_id))


async def _change(info: Info, work: Callable[[Context, Actor], ShownMark]) -> MarkOutcome:
    done = await attempt(info.context, work)
    return MarkChanged(mark=mark_of(mark_body(done))) if isinstance(done, ShownMark) else done
