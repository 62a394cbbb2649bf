"""Work asked for in the asker's own transaction."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from sqlalchemy import Connection

from service.orders.ids import new_id
from service.orders.order import Order
from service.orders.work import Job, JobKind, JobState
from service.store import jobs
from service.usecases.context import Context
from service.usecases.payloads import CROWD, CROWDED, OVER_SHARE, TURN

_TURNS_OF = timedelta(hours=1)
_DAY = timedelta(days=1)
"""How long work that an order asked for counts against its next."""


def ask_for_work(
    ctx: Context, connection: Connection, order: Order, kind: JobKind, subject_id: str, **payload: Any
) -> Job:
    """Write a job's row and hand it to the queue, in the caller's transaction."""
    return start_job(
        ctx, connection, order.workshop_id, order.id, kind=kind, subject_id=subject_id, **payload
    )


def start_job(
    ctx: Context,
    connection: Connection,
    workshop_id: str,
    order_id: str | None,
    *,
    kind: JobKind,
    subject_id: str,
    **payload: Any,
) -> Job:
    """As :func:`ask_for_work`, for work that may be about several orders."""
    now = ctx.clock.now()
    job = Job(
        id=new_id(),
        workshop_id=workshop_id,
        order_id=order_id,
        subject_id=subject_id,
        kind=kind,
        state=JobState.WAITING,
        stage="waiting",
        fraction=0.0,
        message="",
        attempts=0,
        created_at=now,
        updated_at=now,
    )
    # Whose turn it is: an order that asked for much comes after those that asked for little, whoever asked first.
    turn = 0 if order_id is None else jobs.asked_lately(connection, order_id, kind, now - _TURNS_OF)
    crowded = jobs.under_way(connection, workshop_id, CROWD) >= CROWD
    daily = ctx.shares.work_a_day
    over = bool(daily) and jobs.asked_by_workshop(connection, workshop_id, now - _DAY) >= daily
    full = {
        "job": job.id,
        "workshop": workshop_id,
        "subject": subject_id,
        TURN: turn,
        CROWDED: crowded,
        OVER_SHARE: over,
        **payload,
    }
    jobs.insert_job(connection, job, full)
    ctx.queue.enqueue(connection, kind.value, job.id, full)
    return job
