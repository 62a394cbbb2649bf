"""Work that was given up: a list for the workshop, and a way to ask for it again."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import replace

from sqlalchemy import Connection

from service.orders.actors import Actor, Role
from service.orders.errors import ConflictError, NotFoundError
from service.orders.order import Carving
from service.orders.states import CarvingState
from service.orders.work import BatchState, Job, JobKind, JobState
from service.store import jobs, orders, suites
from service.store.tenant_scope import TenantScope
from service.usecases.answers import GivenUp
from service.usecases.asking import start_job
from service.usecases.context import Context
from service.usecases.guard import need_role
from service.usecases.opened import OpenOrder, open_within
from service.usecases.proving import OPEN
from service.usecases.suite_decisions import find_whole_suite
from service.usecases.suites import make_anew

LONGEST_LIST = 100


def list_given_up(ctx: Context, actor: Actor) -> tuple[GivenUp, ...]:
    """Work that was given up, newest first, at most 100, with its order's number. NotAllowedError."""
    need_role(actor, "see work that was given up", Role.MAKER, Role.HELPER)
    with ctx.store.reading() as connection:
        found = jobs.jobs_in_state(connection, actor.workshop_id, JobState.FAILED, LONGEST_LIST)
        ids = [job.order_id for job in found if job.order_id is not None]
        numbers = {
            order.id: order.number
            for order in orders.orders_by_ids(connection, TenantScope(actor.workshop_id), ids)
        }
    return tuple(GivenUp(job, numbers.get(job.order_id or "")) for job in found)


def retry_work(ctx: Context, actor: Actor, job_id: str) -> Job:
    """Ask once more for work that was given up; the new work, or the old one closed where nothing waits for it.

    NotFoundError, NotAllowedError, ConflictError "not-given-up".
    """
    need_role(actor, "ask for work again", Role.MAKER)
    with ctx.store.writing() as connection:
        job = jobs.find_job(connection, TenantScope(actor.workshop_id), job_id)
        if job is None:
            raise NotFoundError("job")
        if job.order_id is None:
            _still_given_up(connection, actor, job_id)
            asked = _batch_again(ctx, connection, job)
        else:
            opened = open_within(ctx, actor, connection, job.order_id, "change")
            _still_given_up(connection, actor, job_id)
            asked = _art_again(opened, job)
            opened.close()
        stage = "asked for again" if asked else "no longer needed"
        jobs.update_job(connection, job.id, ctx.clock.now(), state=JobState.DONE, stage=stage, message="")
        return asked or replace(job, state=JobState.DONE, stage=stage, message="")


def retry_all_work(ctx: Context, actor: Actor) -> tuple[Job, ...]:
    """Ask once more for all work that was given up; what became of each, as :func:`retry_work` says.

    NotAllowedError.
    """
    need_role(actor, "ask for work again", Role.MAKER)
    asked: list[Job] = []
    while found := list_given_up(ctx, actor):
        for each in found:
            with suppress(ConflictError, NotFoundError):  # somebody else was faster, or it is erased
                asked.append(retry_work(ctx, actor, each.job.id))
    return tuple(asked)


def _still_given_up(connection: Connection, actor: Actor, job_id: str) -> None:
    """Looked at behind the locks, so that of two who ask one is told."""
    job = jobs.find_job(connection, TenantScope(actor.workshop_id), job_id, lock=True)
    if job is None or job.state is not JobState.FAILED:
        raise ConflictError(
            "not-given-up", "This work is not given up, or somebody asked for it again already."
        )


def _batch_again(ctx: Context, connection: Connection, job: Job) -> Job | None:
    batch = jobs.find_batch(connection, job.workshop_id, job.subject_id)
    if batch is None or batch.state is not BatchState.FAILED:
        return None
    jobs.finish_batch(connection, replace(batch, state=BatchState.WAITING, message=""))
    return start_job(ctx, connection, job.workshop_id, None, kind=job.kind, subject_id=job.subject_id)


def _art_again(opened: OpenOrder, job: Job) -> Job | None:
    """The carvings that were refused because this work was given up wait for it once more."""
    if opened.order.state not in OPEN:
        return None
    if job.kind is JobKind.SUITE:
        return _suite_again(opened, job.subject_id)
    if job.kind is JobKind.VERSIONS:
        return _versions_again(opened, job.subject_id)
    asked: Job | None = None
    for carving in list(opened.carvings.values()):
        if not _given_up(carving):
            continue
        if job.kind is JobKind.PROVE and carving.id == job.subject_id:
            moved = opened.move_carving(carving, "change", trouble=None)
            asked = opened.ask(JobKind.PROVE, moved.id, revision=moved.revision)
        elif job.kind is JobKind.READ_ARTWORK and carving.reading_id == job.subject_id:
            opened.move_carving(carving, "give-art", trouble=None)
            asked = asked or opened.ask(JobKind.READ_ARTWORK, job.subject_id)
    return asked


def _suite_again(opened: OpenOrder, suite_id: str) -> Job | None:
    if suites.find_suite(opened.connection, opened.reach, suite_id) is None:
        return None
    whole = find_whole_suite(opened.connection, opened.reach, suite_id)
    return make_anew(opened, whole) if all(map(_given_up, whole.carvings)) else None


def _versions_again(opened: OpenOrder, carving_id: str) -> Job | None:
    carving = opened.carvings.get(carving_id)
    if carving is None or carving.proof_id is None or carving.verdict == "carves":
        return None
    opened.changed()
    return opened.ask(JobKind.VERSIONS, carving.id, proof=carving.proof_id)


def _given_up(carving: Carving) -> bool:
    trouble = carving.trouble
    return carving.state is CarvingState.REFUSED and trouble is not None and trouble.code == "gave-up"
