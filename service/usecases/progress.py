"""How far a piece of background work is, where people can see it."""

from __future__ import annotations

from service.orders.work import JobState
from service.store import jobs
from service.usecases.context import Context


class Progress:
    """One job's row, told as the work goes on."""

    def __init__(self, ctx: Context, job_id: str) -> None:
        self._ctx = ctx
        self._job_id = job_id

    def begin(self) -> None:
        """Work on it begins, perhaps once more."""
        with self._ctx.store.writing() as connection:
            jobs.begin_job(connection, self._job_id, self._ctx.clock.now())

    def say(self, stage: str, fraction: float) -> None:
        """What is being done now, and how much is behind it (0 to 1)."""
        self._tell(stage=stage, fraction=fraction)

    def done(self) -> None:
        """It is done."""
        self._tell(state=JobState.DONE, stage="done", fraction=1.0)

    def _tell(self, **changes: object) -> None:
        with self._ctx.store.writing() as connection:
            jobs.update_job(connection, self._job_id, self._ctx.clock.now(), **changes)
