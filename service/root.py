"""The one composition root: settings in, a running service out. Nothing else knows how the rooms fit."""

from __future__ import annotations

import logging
import threading
from collections.abc import AsyncIterator, Mapping
from contextlib import asynccontextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from typing import Any
from urllib.parse import urlsplit

import sqlalchemy as sa
from anyio import CapacityLimiter, to_thread
from starlette.applications import Starlette
from starlette.routing import Mount, Route, Router, WebSocketRoute
from starlette.types import ASGIApp

from schema.door import GraphDoor
from schema.reference import reference_routes
from service.access.csrf import Guard
from service.mail.directory import StoredDirectory
from service.mail.outbox import StoredOutbox
from service.mail.postman import Postman
from service.mail.transport import Folder, Smtp, Transport
from service.orders.upkeep import Chore
from service.orders.work import JobKind
from service.pages.app import Pages
from service.rest.app import rest_routes
from service.rest.health import health_routes
from service.rest.operation import Serving
from service.settings import Settings
from service.shields import Shields
from service.store.blobs import Blobs, FolderBlobs
from service.store.engine import Database
from service.store.folder import FolderLock
from service.store.migrating import upgrade
from service.usecases import jobs, upkeeping
from service.usecases.context import Context
from service.work.durable import DurableQueue, Worker, prepare_tables, system_engine
from service.work.duty import Duty
from service.work.processes import Limits, Processes
from service.work.roll import Roll

log = logging.getLogger("slatproof")

THREADS = 16
"""Requests worked on at once: each waits for the database or for a process, not for this one's processor."""

BODIES = {
    JobKind.READ_ARTWORK: jobs.read_artwork_job,
    JobKind.PROVE: jobs.prove_job,
    JobKind.SUITE: jobs.suite_job,
    JobKind.BATCH: jobs.batch_job,
}
WORK_KEPT = timedelta(days=30)
"""How long the engine's own notes of finished work stay; the jobs that people see stay with their orders."""


class SystemClock:
    """The machine's clock."""

    def now(self) -> datetime:
        """Now, in UTC."""
        return datetime.now(UTC)


@dataclass
class Service:
    """Everything of one process, put together but not started.

    Attributes:
        ctx: what use cases need.
        engine: what DBOS keeps its tables with.
        duty: background work and mail; ``None`` where other processes do that.
        lock: on the data folder, where the database is in it.
        struck: set when the other workers took this one for dead: it must begin anew.
        app: the ASGI application; starts and stops the rest with its lifespan.
    """

    settings: Settings
    database: Database
    engine: sa.Engine
    queue: DurableQueue
    processes: Processes
    ctx: Context
    duty: Duty | None
    lock: FolderLock
    struck: threading.Event
    app: ASGIApp = field(init=False)

    def __post_init__(self) -> None:
        self.app = _application(self)

    def migrate(self) -> None:
        """Bring the database up to this code. FolderTaken."""
        self._take_folder()
        upgrade(self.database)
        prepare_tables(self.engine)

    def start(self) -> None:
        """Start what runs beside the answers. FolderTaken."""
        self._take_folder()
        self.processes.warm()
        if self.duty is not None:
            self.duty.start()

    def stop(self) -> None:
        """Stop it, leaving unfinished work for others or for the next start."""
        if self.duty is not None:
            self.duty.stop()
        self.processes.stop()
        self.queue.close()
        self.database.close()
        self.engine.dispose()
        self.lock.release()

    def _take_folder(self) -> None:
        if self.settings.embedded:
            self.lock.take(alone=self.settings.alone)


def build(settings: Settings) -> Service:
    """Put one process together."""
    settings.data.mkdir(parents=True, exist_ok=True)
    clock = SystemClock()
    database = Database(settings.database_url)
    engine = system_engine(settings.database_url)
    queue = DurableQueue(engine)
    # One place more than jobs may take, so that somebody trying a size never waits for a batch.
    limits = Limits(settings.compute_seconds, settings.compute_memory)
    processes = Processes(settings.compute + 1, limits)
    ctx = Context(
        store=database,
        blobs=_blobs(settings),
        queue=queue,
        compute=processes,
        clock=clock,
        outbox=StoredOutbox(clock),
        base_url=settings.base_url,
        folder=settings.data if settings.embedded or not settings.s3_bucket else None,
    )
    struck = threading.Event()
    return Service(
        settings=settings,
        database=database,
        engine=engine,
        queue=queue,
        processes=processes,
        ctx=ctx,
        duty=None if settings.role == "web" else _duty(settings, engine, queue, ctx, struck),
        lock=FolderLock(settings.data),
        struck=struck,
    )


def _duty(
    settings: Settings, engine: sa.Engine, queue: DurableQueue, ctx: Context, struck: threading.Event
) -> Duty:
    def work(kind: str, payload: Mapping[str, Any]) -> None:
        if kind == upkeeping.HOUSEKEEPING:
            upkeeping.do_housekeeping(ctx)
            queue.forget_done(ctx.clock.now() - WORK_KEPT)
        else:
            BODIES[JobKind(kind)](ctx, payload)

    def give_up(kind: str, payload: Mapping[str, Any], message: str) -> None:
        if kind == upkeeping.HOUSEKEEPING:
            upkeeping.note_upkeep(ctx, Chore.HOUSEKEEPING, well=False, words=message)
        else:
            jobs.fail_job(ctx, payload, message)

    worker = Worker(engine, queue, work, give_up, at_once=settings.compute)
    roll = Roll(
        ctx.store,
        ctx.clock,
        worker.take_over,
        alone=settings.alone,
        struck=struck.set,
        errands=(lambda: upkeeping.ask_for_housekeeping(ctx),),
    )
    directory = StoredDirectory(settings.base_url, settings.mail_from)
    return Duty(worker, roll, Postman(ctx.store, _transport(settings), directory, ctx.clock))


def _blobs(settings: Settings) -> Blobs:
    if not settings.s3_bucket:
        return FolderBlobs(settings.data / "blobs")
    from service.store.bucket import open_bucket  # a workshop with a folder never needs its libraries

    return open_bucket(
        settings.s3_bucket,
        endpoint=settings.s3_endpoint,
        region=settings.s3_region,
        key_id=settings.s3_key_id,
        secret=settings.s3_secret.get_secret_value(),
    )


def _transport(settings: Settings) -> Transport:
    return Smtp.from_url(settings.smtp) if settings.smtp else Folder(settings.data / "outbox")


def _application(service: Service) -> ASGIApp:
    settings = service.settings

    @asynccontextmanager
    async def lifespan(_app: Starlette) -> AsyncIterator[None]:
        await to_thread.run_sync(service.start)
        try:
            yield
        finally:
            await to_thread.run_sync(service.stop)

    serving = Serving(service.ctx, CapacityLimiter(THREADS), settings.body_limit, settings.upload_limit)
    door = GraphDoor(serving, page=settings.graphiql)
    health = health_routes(serving, settings.metrics_token.get_secret_value())
    graph = [Route("/graphql", door), WebSocketRoute("/graphql", door)]
    routes = [*rest_routes(serving), *graph, *reference_routes()]
    pages = Pages(Router(routes, redirect_slashes=False), settings.upload_limit)
    app = Starlette(routes=[*health, *routes, Mount("", pages)], lifespan=lifespan)
    base = urlsplit(settings.base_url)
    secure = base.scheme == "https"
    guarded = Guard(app, frozenset({base.netloc}), secure=secure)
    return Shields(guarded, settings.requests_at_once, secure=secure)
