"""Queries about background work, batches, and answers kept for idempotency keys."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime, timedelta
from typing import Any

from sqlalchemy import Connection, Text, Update, cast, delete, func, insert, or_, select, update

from service.orders.ids import ids_among
from service.orders.work import Batch, BatchState, Job, JobKind, JobState
from service.store.bells import WORK, order_topic, tell
from service.store.counting import count_of
from service.store.record_tables import batches, jobs, once_answers
from service.store.rows import BATCHES, JOBS
from service.store.tenant_scope import TenantScope

ONCE_LIFE = timedelta(hours=24)


def insert_job(connection: Connection, job: Job, payload: Mapping[str, Any]) -> None:
    """Store new background work; the queue is told by the caller."""
    connection.execute(insert(jobs).values(JOBS.row(job, payload=dict(payload))))
    tell(connection, WORK)


def update_job(connection: Connection, job_id: str, now: datetime, **changes: Any) -> None:
    """Store how far work is; a state is given as :class:`JobState`."""
    if "state" in changes:
        changes["state"] = JobState(changes["state"]).value
    _change(connection, update(jobs).where(jobs.c.id == job_id).values(**changes, updated_at=now))


def update_running_job(connection: Connection, job_id: str, now: datetime, **changes: Any) -> None:
    """As :func:`update_job`, unless it has ended already."""
    if "state" in changes:
        changes["state"] = JobState(changes["state"]).value
    _change(
        connection,
        update(jobs)
        .where(jobs.c.id == job_id, jobs.c.state == JobState.RUNNING.value)
        .values(**changes, updated_at=now),
    )


def _change(connection: Connection, changed: Update) -> None:
    """Change work, and ring for the order that it is about."""
    order_id = connection.execute(changed.returning(jobs.c.order_id)).scalar_one_or_none()
    if order_id is not None:
        tell(connection, order_topic(order_id))


def begin_job(connection: Connection, job_id: str, now: datetime) -> int | None:
    """Note that work on it began, once more: how often by now; ``None`` where it has ended or is erased."""
    begun = connection.execute(
        update(jobs)
        .where(jobs.c.id == job_id, jobs.c.state.in_((JobState.WAITING.value, JobState.RUNNING.value)))
        .values(state=JobState.RUNNING.value, attempts=jobs.c.attempts + 1, message="", updated_at=now)
        .returning(jobs.c.attempts, jobs.c.order_id)
    ).one_or_none()
    if begun is None:
        return None
    if begun.order_id is not None:
        tell(connection, order_topic(begun.order_id))
    attempts: int = begun.attempts
    return attempts


def put_off_job(connection: Connection, job_id: str, now: datetime, message: str) -> None:
    """Work that runs waits again, and its last beginning is not counted; nothing where it does not run."""
    _change(
        connection,
        update(jobs)
        .where(jobs.c.id == job_id, jobs.c.state == JobState.RUNNING.value)
        .values(
            state=JobState.WAITING.value,
            stage="waiting",
            message=message,
            attempts=jobs.c.attempts - 1,
            updated_at=now,
        ),
    )


def find_job(connection: Connection, reach: TenantScope, job_id: str, *, lock: bool = False) -> Job | None:
    """One piece of work within reach; ``lock``: nobody else changes it until the transaction ends."""
    query = select(jobs).where(jobs.c.id.in_(ids_among([job_id])), *reach.within(jobs))
    if lock:
        query = query.with_for_update()
    row = connection.execute(query).one_or_none()
    return None if row is None else JOBS.value(row)


def jobs_of_orders(connection: Connection, reach: TenantScope, ids: Sequence[str]) -> list[Job]:
    """The work of these orders, newest first."""
    query = select(jobs).where(jobs.c.order_id.in_(ids_among(ids)), *reach.within(jobs))
    return JOBS.values(connection.execute(query.order_by(jobs.c.created_at.desc(), jobs.c.id)))


def asked_lately(connection: Connection, order_id: str, kind: JobKind, since: datetime) -> int:
    """How much work of one kind was asked for about an order since then."""
    counted = select(func.count()).where(
        jobs.c.order_id == order_id, jobs.c.kind == kind.value, jobs.c.created_at > since
    )
    found: int = connection.execute(counted).scalar_one()
    return found


def under_way(connection: Connection, workshop_id: str, most: int) -> int:
    """How much of a workshop's work is asked for and has not ended, counted up to ``most``."""
    unended = (JobState.WAITING.value, JobState.RUNNING.value)
    some = select(jobs.c.id).where(jobs.c.workshop_id == workshop_id, jobs.c.state.in_(unended)).limit(most)
    found: int = connection.execute(select(func.count()).select_from(some.subquery())).scalar_one()
    return found


def asked_by_workshop(connection: Connection, workshop_id: str, since: datetime) -> int:
    """How much work of any kind a workshop asked for since then."""
    states = [state.value for state in JobState]  # all of them: the index begins with workshop and state
    counted = select(func.count()).where(
        jobs.c.workshop_id == workshop_id, jobs.c.state.in_(states), jobs.c.created_at > since
    )
    found: int = connection.execute(counted).scalar_one()
    return found


def jobs_in_state(connection: Connection, workshop_id: str, state: JobState, limit: int) -> list[Job]:
    """The workshop's work in one state, newest first."""
    query = select(jobs).where(jobs.c.workshop_id == workshop_id, jobs.c.state == state.value)
    return JOBS.values(connection.execute(query.order_by(jobs.c.created_at.desc()).limit(limit)))


def waiting_work(connection: Connection, workshop_id: str | None) -> tuple[int, datetime | None]:
    """How much work is asked for and not begun, and since when the oldest; of one workshop, or of all."""
    query = select(func.count(), func.min(jobs.c.created_at)).where(jobs.c.state == JobState.WAITING.value)
    if workshop_id is not None:
        query = query.where(jobs.c.workshop_id == workshop_id)
    count, since = connection.execute(query).one()
    return count, since


def count_given_up(connection: Connection, workshop_id: str | None) -> int:
    """How much work was given up, of one workshop, or of all."""
    query = select(func.count()).where(jobs.c.state == JobState.FAILED.value)
    if workshop_id is not None:
        query = query.where(jobs.c.workshop_id == workshop_id)
    return connection.execute(query).scalar_one()


def insert_batch(connection: Connection, batch: Batch) -> None:
    """Store a batch that is asked for."""
    connection.execute(insert(batches).values(BATCHES.row(batch)))


def finish_batch(connection: Connection, batch: Batch, *, waiting: bool = False) -> None:
    """Store what became of a batch; with ``waiting``, only if it still waits for that."""
    changed = {
        "state": batch.state.value,
        "archive": batch.archive,
        "size": batch.size,
        "message": batch.message,
    }
    query = update(batches).where(batches.c.id == batch.id)
    if waiting:
        query = query.where(batches.c.state == BatchState.WAITING.value)
    connection.execute(query.values(changed))


def find_batch(connection: Connection, workshop_id: str, batch_id: str) -> Batch | None:
    """One batch of the workshop."""
    named = batches.c.id.in_(ids_among([batch_id]))
    query = select(batches).where(named, batches.c.workshop_id == workshop_id)
    row = connection.execute(query).one_or_none()
    return None if row is None else BATCHES.value(row)


def batches_with_order(connection: Connection, workshop_id: str, order_id: str) -> list[Batch]:
    """Every batch of the workshop that an order is in."""
    holds = cast(batches.c.order_ids, Text).contains(order_id, autoescape=True)
    query = select(batches).where(batches.c.workshop_id == workshop_id, holds)
    return BATCHES.values(connection.execute(query))


def delete_jobs_of_order(connection: Connection, order_id: str) -> None:
    """Forget the work of an order, done or not."""
    connection.execute(delete(jobs).where(jobs.c.order_id == order_id))


def newest_batches(
    connection: Connection, workshop_id: str, before: tuple[datetime, str] | None, limit: int
) -> list[Batch]:
    """Batches older than ``before`` (time and id), newest first."""
    query = select(batches).where(batches.c.workshop_id == workshop_id)
    if before is not None:
        at, key = before
        query = query.where(
            or_(batches.c.created_at < at, (batches.c.created_at == at) & (batches.c.id < key))
        )
    query = query.order_by(batches.c.created_at.desc(), batches.c.id.desc()).limit(limit)
    return BATCHES.values(connection.execute(query))


def count_batches(connection: Connection, workshop_id: str) -> int:
    """How many batches a workshop has; see :func:`service.store.counting.count_of`."""
    return count_of(connection, batches, batches.c.workshop_id == workshop_id)


def find_answer(
    connection: Connection, workshop_id: str, principal: str, key: str, now: datetime
) -> tuple[str, str, Any] | None:
    """Verb, body digest and answer kept under an idempotency key within its life."""
    row = connection.execute(
        select(once_answers.c.verb, once_answers.c.body, once_answers.c.answer).where(
            once_answers.c.workshop_id == workshop_id,
            once_answers.c.principal == principal,
            once_answers.c.key == key,
            once_answers.c.created_at > now - ONCE_LIFE,
        )
    ).one_or_none()
    return None if row is None else (row.verb, row.body, row.answer)


def claim_key(
    connection: Connection, workshop_id: str, principal: str, key: str, values: Mapping[str, Any]
) -> None:
    """Take an idempotency key before the work begins: whoever comes second waits here, then fails.

    Raises:
        IntegrityError: somebody took it at the same moment.
    """
    now = values["created_at"]
    connection.execute(delete(once_answers).where(once_answers.c.created_at <= now - ONCE_LIFE))
    connection.execute(
        insert(once_answers).values(workshop_id=workshop_id, principal=principal, key=key, **values)
    )


def keep_answer(connection: Connection, workshop_id: str, principal: str, key: str, answer: Any) -> None:
    """Store the answer under a key taken in this transaction."""
    connection.execute(
        update(once_answers)
        .where(
            once_answers.c.workshop_id == workshop_id,
            once_answers.c.principal == principal,
            once_answers.c.key == key,
        )
        .values(answer=answer)
    )
