"""Two workers against one, on the same drawings."""

from __future__ import annotations

import time
from pathlib import Path
from typing import Any

import sqlalchemy as sa

from service.orders.work import JobState
from service.store.record_tables import jobs
from tests.faults.checks import place_at
from tests.parts.process import processor_seconds
from tests.parts.shape import Shape
from tests.running import art, carvings, placed_order

ORDERS = 60
LONGEST = 600.0
START_SECONDS = 4.0
"""Until a worker has loaded all that it needs."""


def compared(home: Path) -> dict[str, Any]:
    """Pieces of work a second by one worker and by two; each is a reading or a check of a scan."""
    found = {count: _worked(home / f"with-{count}", count) for count in (1, 2)}
    return {
        "orders": ORDERS,
        "work_per_second": {str(count): round(rate, 2) for count, (rate, _) in found.items()},
        "processor_seconds_a_piece": {str(count): round(spent, 3) for count, (_, spent) in found.items()},
        "two_to_one": round(found[2][0] / found[1][0], 2),
    }


def _worked(home: Path, workers: int) -> tuple[float, float]:
    """Pieces a second, from the end of the first to the end of the last by the jobs' own times; and the workers'
    processor time a piece, their start apart."""
    shape = Shape(home, webs=1, workers=workers)
    shape.start(seed=True)
    try:
        for worker in shape.workers:
            worker.stop()
        for _ in range(ORDERS):
            _ask(shape.url)
        for worker in shape.workers:
            worker.start()
        time.sleep(START_SECONDS)
        before = sum(processor_seconds(worker.pid) for worker in shape.workers)
        with place_at(shape.environ) as place:
            waited, rate = _seen(place.database)
        return rate, (sum(processor_seconds(worker.pid) for worker in shape.workers) - before) / waited
    finally:
        shape.stop()


def _ask(url: str) -> None:
    order, client = placed_order(url)
    with client:
        client.upload(order["id"], "scan.jpg", art("scan.jpg"), [carvings(order)[0]["id"]])


def _seen(database: Any) -> tuple[int, float]:
    """How many pieces ended while it was looked, and pieces a second from the first of all to the last."""
    end = time.monotonic() + LONGEST
    unended = jobs.c.state.in_((JobState.WAITING.value, JobState.RUNNING.value))
    done_before: int | None = None
    while True:
        with database.reading() as connection:
            left = connection.scalar(sa.select(sa.func.count()).where(unended))
            ended = list(
                connection.scalars(sa.select(jobs.c.updated_at).where(~unended).order_by(jobs.c.updated_at))
            )
        done_before = len(ended) if done_before is None else done_before
        if not left:
            rate = (len(ended) - 1) / float((ended[-1] - ended[0]).total_seconds())
            return len(ended) - done_before, rate
        assert time.monotonic() < end, f"{left} pieces of work are still open"
        time.sleep(0.5)
