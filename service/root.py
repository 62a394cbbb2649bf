"""The one composition root: settings in, a running service out. Nothing else knows how the rooms fit."""

from __future__ import annotations

import logging
from collections.abc import AsyncIterator, Mapping
from contextlib import asynccontextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import Any
from urllib.parse import urlsplit

import sqlalchemy as sa
from anyio import CapacityLimiter, to_thread
from starlette.applications import Starlette
from starlette.routing import Mount, Route, Router, WebSocketRoute
from starlette.types import ASGIApp

from schema.door import GraphDoor
from service.access.csrf import Guard
from service.mail.directory import StoredDirectory
from service.mail.outbox import StoredOutbox
from service.mail.postman import Postman
from service.mail.transport import Folder, Smtp, Transport
from service.orders.work import JobKind
from service.pages.app import Pages
from service.rest.app import rest_routes
from service.rest.operation import Serving
from service.settings import Settings
from service.shields import Shields
from service.store.blobs import Blobs, FolderBlobs
from service.store.engine import Database
from service.store.migrating import upgrade
from service.usecases import jobs
from service.usecases.context import Context
from service.work.durable import DurableQueue, Worker, prepare_tables, system_engine
from service.work.processes import Limits, Processes

log = logging.getLogger("slatproof")

THREADS = 16
"""Requests worked on at once: each waits for the database or for a process, not for this one's processor."""

BODIES = {
    JobKind.READ_ARTWORK: jobs.read_artwork_job,
    JobKind.PROVE: jobs.prove_job,
    JobKind.BATCH: jobs.batch_job,
}


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
        app: the ASGI application; starts and stops the rest with its lifespan.
    """

    settings: Settings
    database: Database
    engine: sa.Engine
    queue: DurableQueue
    processes: Processes
    ctx: Context
    postman: Postman
    worker: Worker | None
    app: ASGIApp = field(init=False)

    def __post_init__(self) -> None:
        self.app = _application(self)

    def migrate(self) -> None:
        """Bring the database up to this code."""
        upgrade(self.database)
        prepare_tables(self.engine)

    def start(self) -> None:
        """Start what runs beside the answers."""
        self.processes.warm()
        if self.worker is not None:
            self.worker.start()
            self.postman.start()

    def stop(self) -> None:
        """Stop it, leaving unfinished work for the next start."""
        if self.worker is not None:
            self.postman.stop()
            self.worker.stop()
        self.processes.stop()
        self.queue.close()
        self.database.close()
        self.engine.dispose()


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
    )
    directory = StoredDirectory(settings.base_url, settings.mail_from)
    return Service(
        settings=settings,
        database=database,
        engine=engine,
        queue=queue,
        processes=processes,
        ctx=ctx,
        postman=Postman(database, _transport(settings), directory, clock),
        worker=_worker(settings, engine, queue, ctx) if settings.role != "web" else None,
    )


def _worker(settings: Settings, engine: sa.Engine, queue: DurableQueue, ctx: Context) -> Worker:
    def work(kind: str, payload: Mapping[str, Any]) -> None:
        BODIES[JobKind(kind)](ctx, payload)

    def give_up(_kind: str, payload: Mapping[str, Any], message: str) -> None:
        jobs.fail_job(ctx, payload, message)

    return Worker(engine, queue, work, give_up, at_once=settings.compute)


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
    routes = [*rest_routes(serving), Route("/graphql", door), WebSocketRoute("/graphql", door)]
    pages = Pages(Router(routes, redirect_slashes=False), settings.upload_limit)
    app = Starlette(routes=[*routes, Mount("", pages)], lifespan=lifespan)
    base = urlsplit(settings.base_url)
    secure = base.scheme == "https"
    guarded = Guard(app, frozenset({base.netloc}), secure=secure)
    return Shields(guarded, settings.requests_at_once, secure=secure)
