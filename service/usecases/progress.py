"""How far a piece of background work is, where people can see it."""

from __future__ import annotations

import time

from service.metering import STAGES
from service.orders.work import JobState
from service.store import jobs
from service.usecases.context import Context

MOST_BEGINNINGS = 12
"""How often work is begun: more beginnings than failed attempts mean that it ends the process that does it."""


class TooOftenError(Exception):
    """The work was begun again and again and never came to an end."""


class Progress:
    """One job's row, told as the work goes on.

    A worker that was taken for dead may still be at it: whatever it says of work that others ended meanwhile
    is not taken in.
    """

    def __init__(self, ctx: Context, job_id: str, kind: str) -> None:
        self._ctx = ctx
        self._job_id = job_id
        self._kind = kind
        self._stage = "beginning"
        self._since = time.perf_counter()

    def begin(self) -> bool:
        """Work on it begins, perhaps once more; false where it has ended already. TooOftenError."""
        with self._ctx.store.writing() as connection:
            beginnings = jobs.begin_job(connection, self._job_id, self._ctx.clock.now())
        if beginnings is not None and beginnings > MOST_BEGINNINGS:
            raise TooOftenError(f"begun {MOST_BEGINNINGS} times without coming to an end")
        return beginnings is not None

    def say(self, stage: str, fraction: float) -> None:
        """What is being done now, and how much is behind it (0 to 1)."""
        self._time(stage)
        self._tell(stage=stage, fraction=fraction)

    def done(self) -> None:
        """It is done."""
        self._time("done")
        self._tell(state=JobState.DONE, stage="done", fraction=1.0)

    def _time(self, next_stage: str) -> None:
        now = time.perf_counter()
        name = self._stage.partition(" ")[0]  # "order 12" is one of many orders
        STAGES.labels(self._kind, name).observe(now - self._since)
        self._stage, self._since = next_stage, now

    def _tell(self, **changes: object) -> None:
        with self._ctx.store.writing() as connection:
            jobs.update_running_job(connection, self._job_id, self._ctx.clock.now(), **changes)
