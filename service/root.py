"""The one composition root: settings in, a running service out. Nothing else knows how the rooms fit."""

from __future__ import annotations

import logging
import threading
from collections.abc import AsyncIterator, Mapping
from contextlib import asynccontextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from functools import partial
from typing import TYPE_CHECKING, Any
from urllib.parse import urlsplit

from anyio import CapacityLimiter, to_thread
from starlette.applications import Starlette
from starlette.routing import Mount, Route, Router, WebSocketRoute
from starlette.types import ASGIApp

from service.access import second_factor
from service.access.breached import BreachedList
from service.access.csrf import CsrfGuard
from service.access.rate_limit import RequestBudget
from service.directory import Directory, SendOn
from service.lazy import Lazy
from service.load_shedding import Crowd, LoadShedding
from service.mail.directory import StoredDirectory
from service.mail.outbox import StoredOutbox
from service.mail.postman import Postman
from service.mail.transport import Folder, Smtp, Transport
from service.orders.upkeep import Chore
from service.orders.work import JobKind
from service.pages.app import Pages
from service.rest.app import rest_routes
from service.rest.cors import Cors
from service.rest.health import health_routes
from service.rest.in_process import InProcess
from service.rest.operation import Pipeline
from service.rest.upload_limiter import UploadLimiter
from service.settings import Settings
from service.squeezing import Squeezing
from service.store.blobs import FolderBlobs
from service.store.breaker import GuardedBlobs
from service.store.engine import Database
from service.store.folder import FolderLock, keep_private
from service.store.migrating import upgrade
from service.store.shop import seal_signing_keys
from service.store.vault import Vault
from service.usecases import maintenance_schedule, people, privacy_and_audit, signing_in
from service.usecases.context import Context, InstalledAs
from service.work.lanes import most_at_once
from service.work.lazy_queue import LazyQueue
from service.work.processes import Cage, Limits, Processes
from service.work.worker_registry import WorkerRegistry

if TYPE_CHECKING:
    from service.work.outages import Away
    from service.work.supervisor import Supervisor

log = logging.getLogger("slatproof")

GRAPH_REFERENCE = ("/reference/graphql", "/graphql/schema.graphql")
THREADS = 16
"""Requests worked on at once: each waits for the database or for a process, not for this one's processor."""

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
        lock: on the data folder, where the database is in it.
        struck: set when the other workers took this one for dead: it must begin anew.
        broken: set when what runs beside the answers could not be started; the log says why.
        ending: set when it is asked to stop.
        app: the ASGI application; starts and stops the rest with its lifespan.
    """

    settings: Settings
    database: Database
    queue: LazyQueue
    processes: Processes
    ctx: Context
    lock: FolderLock
    struck: threading.Event = field(default_factory=threading.Event)
    broken: threading.Event = field(default_factory=threading.Event)
    ending: threading.Event = field(default_factory=threading.Event)
    app: ASGIApp = field(init=False)
    graph: Lazy = field(init=False)
    _duty: Supervisor | None = None
    _starting: threading.Thread | None = None

    def __post_init__(self) -> None:
        self.app, self.graph = _application(self)

    def migrate(self) -> None:
        """Bring the database up to this code. FolderTakenError."""
        self._take_folder()
        upgrade(self.database)
        with (
            self.database.writing() as connection
        ):  # keys of before there was a key file, and whether it is the right one
            seal_signing_keys(connection)
            second_factor.seal_keys(connection)
        self.queue.prepare(self.database, self.ctx.clock)

    def start(self) -> None:
        """Start what runs beside the answers, in a thread: nobody waits for it to be answered. FolderTakenError."""
        self._take_folder()
        self.database.listen(alone=self.settings.alone)
        self._starting = threading.Thread(target=self._begin, name="starting")
        self._starting.start()

    def _begin(self) -> None:
        try:
            if self.settings.role != "web":
                self._duty = _duty(self)
                self._duty.start()
            self.processes.warm()
            if self.settings.role != "worker":
                self.graph.load()
        except Exception:
            log.exception("what runs beside the answers could not be started")
            self.broken.set()

    def stop(self) -> None:
        """Stop it, leaving unfinished work for others or for the next start."""
        self.ending.set()
        if self._starting is not None:
            self._starting.join()
        if self._duty is not None:
            self._duty.stop()
        self.processes.stop()
        self.queue.close()
        self.database.close()
        self.lock.release()

    def _take_folder(self) -> None:
        if self.settings.embedded:
            self.lock.take(alone=self.settings.alone)


def build(settings: Settings) -> Service:
    """Put one process together."""
    if keep_private(settings.data):
        log.warning("other users could look into the data folder; its rights were mended")
    clock = SystemClock()
    database = Database(settings.database_url, Vault.of(settings.key_file))
    queue = LazyQueue(settings.database_url)
    # As many places as all lanes of work may take, and one more: somebody trying a size never waits for a batch.
    limits = Limits(settings.compute_seconds, settings.compute_memory, settings.compute_cpu_seconds)
    places = most_at_once(settings.compute) + 1
    cage = Cage(required=settings.cage == "required")
    processes = Processes(places, limits, cage=cage, for_drawing=settings.compute)
    ctx = Context(
        store=database,
        blobs=_blobs(settings),
        queue=queue,
        compute=processes,
        clock=clock,
        outbox=StoredOutbox(clock, settings.data / "outbox"),
        base_url=settings.base_url,
        folder=settings.data if settings.embedded or not settings.s3_bucket else None,
        second_step_required=settings.second_step == "required",
        art_limits=settings.art_limits,
        orders_an_hour=settings.orders_an_hour,
        requests=RequestBudget(settings.requests_a_minute),
        shares=settings.shares,
        repair_seconds=settings.repair_seconds,
        mails_checkpoints=settings.checkpoint_mail == "daily",
        webhooks_anywhere=settings.webhooks == "anywhere",
        installed_as=InstalledAs(
            settings.public_url, settings.host, bool(settings.trusted_proxies), bool(settings.smtp)
        ),
        breached=BreachedList(settings.breached_passwords) if settings.breached_passwords else (),
    )
    return Service(
        settings=settings,
        database=database,
        queue=queue,
        processes=processes,
        ctx=ctx,
        lock=FolderLock(settings.data),
    )


def keys_here(settings: Settings) -> frozenset[bytes]:
    """Public keys of the workshops kept here; none where nothing is kept yet."""
    if settings.database_file is not None and not settings.database_file.exists():
        return frozenset()
    service = build(settings)
    try:
        return privacy_and_audit.public_keys(service.ctx)
    finally:
        service.queue.close()
        service.database.close()


def _duty(service: Service) -> Supervisor:
    # What only a worker needs is loaded here: it is most of all there is to load.
    from service.usecases import jobs
    from service.work.courier import Courier
    from service.work.durable import Worker
    from service.work.supervisor import Supervisor

    settings, ctx = service.settings, service.ctx
    engine, queue = service.queue.load()

    def work(kind: str, payload: Mapping[str, Any]) -> None:
        if kind == maintenance_schedule.HOUSEKEEPING:
            maintenance_schedule.do_housekeeping(ctx)
            queue.forget_done(ctx.clock.now() - WORK_KEPT)
        else:
            jobs.BODIES[JobKind(kind)](ctx, payload)

    def give_up(kind: str, payload: Mapping[str, Any], message: str) -> None:
        if kind == maintenance_schedule.HOUSEKEEPING:
            maintenance_schedule.note_upkeep(ctx, Chore.HOUSEKEEPING, well=False, words=message)
        else:
            jobs.fail_job(ctx, payload, message)

    def waiting(kind: str, payload: Mapping[str, Any], away: Away) -> None:
        if kind != maintenance_schedule.HOUSEKEEPING:
            jobs.note_wait(ctx, payload, away.words)

    worker = Worker(
        engine, queue, work, give_up, waiting, bells=service.database.bells, at_once=settings.compute
    )
    roll = WorkerRegistry(
        ctx.store,
        ctx.clock,
        worker.take_over,
        alone=settings.alone,
        struck=service.struck.set,
        errands=(lambda: maintenance_schedule.ask_for_housekeeping(ctx),),
    )
    directory = StoredDirectory(settings.base_url, settings.mail_from)
    return Supervisor(
        worker,
        roll,
        (
            Postman(ctx.store, _transport(settings), directory, ctx.clock, service.database.bells),
            Courier(ctx, service.database.bells),
        ),
        service.ending,
    )


def _blobs(settings: Settings) -> GuardedBlobs:
    if not settings.s3_bucket:
        return GuardedBlobs(FolderBlobs(settings.data / "blobs"))
    from service.store.bucket import open_bucket  # a workshop with a folder never needs its libraries

    return GuardedBlobs(
        open_bucket(
            settings.s3_bucket,
            endpoint=settings.s3_endpoint,
            region=settings.s3_region,
            key_id=settings.s3_key_id,
            secret=settings.s3_secret.get_secret_value(),
        )
    )


def _transport(settings: Settings) -> Transport:
    return Smtp.from_url(settings.smtp) if settings.smtp else Folder(settings.data / "outbox")


def _application(service: Service) -> tuple[ASGIApp, Lazy]:
    settings = service.settings

    @asynccontextmanager
    async def lifespan(_app: Starlette) -> AsyncIterator[None]:
        await to_thread.run_sync(service.start)
        try:
            yield
        finally:
            await to_thread.run_sync(service.stop)

    room = UploadLimiter(settings.uploads_at_once, share=max(settings.uploads_at_once * 3 // 8, 1))
    pipeline = Pipeline(
        service.ctx,
        CapacityLimiter(THREADS),
        settings.body_limit,
        settings.upload_limit,
        bells=service.database.bells,
        room=room,
        at_hand=service.database.is_at_hand,
    )
    graph, reference = Lazy(lambda: _graph(pipeline)), Lazy(_reference)
    health = health_routes(pipeline, settings.metrics_token.get_secret_value())
    routes = [
        *rest_routes(pipeline, to_try=settings.try_graphql),
        Route("/graphql", graph),
        WebSocketRoute("/graphql", graph),
        *(Route(path, reference, methods=["GET"]) for path in GRAPH_REFERENCE),
    ]
    pages = Pages(InProcess(pipeline), Router(routes, redirect_slashes=False), settings.upload_limit)
    app = Starlette(routes=[*routes, *health, Mount("", pages)], lifespan=lifespan)
    base = urlsplit(settings.base_url)
    secure = base.scheme == "https"
    guarded: ASGIApp = CsrfGuard(app, frozenset({base.netloc}), secure=secure, hosts=settings.hosts)
    if settings.directory is not None:
        directory = Directory(settings.directory, settings.base_url)
        guarded = SendOn(guarded, directory, partial(signing_in.workshop_of_link, service.ctx))
    open_to = Cors(guarded, partial(people.allows_origin, service.ctx), pipeline.threads)
    crowd = Crowd.of(
        settings.requests_at_once, settings.streams_at_once, trusts_a_proxy=bool(settings.trusted_proxies)
    )
    return LoadShedding(Squeezing(open_to), crowd, secure=secure), graph


def _graph(pipeline: Pipeline) -> ASGIApp:
    from schema.door import GraphDoor

    return GraphDoor(pipeline)


def _reference() -> ASGIApp:
    from schema.reference import reference_routes

    return Router(reference_routes())
