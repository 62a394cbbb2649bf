"""Two workers against one, on the same drawings."""

from __future__ import annotations

import time
from pathlib import Path
from typing import Any

import sqlalchemy as sa

from service.orders.work import JobState
from service.store.record_tables import jobs
from tests.faults.checks import place_at
from tests.parts.shape import Shape
from tests.running import art, carvings, placed_order

ORDERS = 60
LONGEST = 600.0


def compared(home: Path) -> dict[str, Any]:
    """Pieces of work a second by one worker and by two; each is a reading or a check of a scan."""
    rates = {count: _rate(home / f"with-{count}", count) for count in (1, 2)}
    return {
        "orders": ORDERS,
        "work_per_second": {str(count): round(rate, 2) for count, rate in rates.items()},
        "two_to_one": round(rates[2] / rates[1], 2),
    }


def _rate(home: Path, workers: int) -> float:
    """From the end of the first piece of work to the end of the last, by the jobs' own times."""
    shape = Shape(home, webs=1, workers=workers)
    shape.start(seed=True)
    try:
        for worker in shape.workers:
            worker.stop()
        for _ in range(ORDERS):
            _ask(shape.url)
        for worker in shape.workers:
            worker.start()
        with place_at(shape.environ) as place:
            return _seen(place.database)
    finally:
        shape.stop()


def _ask(url: str) -> None:
    order, client = placed_order(url)
    with client:
        client.upload(order["id"], "scan.jpg", art("scan.jpg"), [carvings(order)[0]["id"]])


def _seen(database: Any) -> float:
    end = time.monotonic() + LONGEST
    unended = jobs.c.state.in_((JobState.WAITING.value, JobState.RUNNING.value))
    while True:
        with database.reading() as connection:
            left = connection.scalar(sa.select(sa.func.count()).where(unended))
            ended = list(connection.scalars(sa.select(jobs.c.updated_at).order_by(jobs.c.updated_at)))
        if not left:
            return (len(ended) - 1) / float((ended[-1] - ended[0]).total_seconds())
        assert time.monotonic() < end, f"{left} pieces of work are still open"
        time.sleep(0.5)
