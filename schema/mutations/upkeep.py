"""Work that was given up, asked for again."""

from __future__ import annotations

from typing import Annotated, cast

import strawberry

from schema.context import Info
from schema.mutations.outcome import attempt
from schema.outcomes import Conflict, Invalid, NotAllowed, NotFound, Stale, TooMany
from schema.types.work import Job
from service.orders import work
from service.usecases import retrying


@strawberry.type
class WorkRetried:
    """It was asked for again; where nothing waits for it any more, this is the old work, closed."""

    job: Job


RetryOutcome = Annotated[
    WorkRetried | Stale | Invalid | NotAllowed | NotFound | Conflict | TooMany,
    strawberry.union("RetryOutcome", description="How asking for work again went."),
]


@strawberry.type
class UpkeepMutations:
    """Part of the mutations."""

    @strawberry.mutation
    async def retry_work(self, info: Info, job_id: strawberry.ID) -> RetryOutcome:
        """Ask once more for work that was given up."""
        done = await attempt(info.context, lambda ctx, actor: retrying.retry_work(ctx, actor, job_id))
        return WorkRetried(job=cast("Job", done)) if isinstance(done, work.Job) else done
