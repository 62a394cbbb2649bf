"""Durable background work: asked for inside the asker's own transaction, done at least once, by whoever is free.

Every piece of work is one DBOS workflow of one step, named by its key, so the same work is never asked for twice
and a crash repeats at most that step; what a step changes is written by use cases that can be repeated. Because
there is a single step, the stored form never depends on the order of steps and one application version serves all.
"""

from __future__ import annotations

import logging
from collections.abc import Callable, Mapping
from typing import Any

import sqlalchemy as sa
from dbos import DBOS, DBOSClient, DBOSConfig, EnqueueOptions
from dbos import DBOSPortableJSONSerializer as PortableJson  # type: ignore[attr-defined,unused-ignore]
from sqlalchemy import Connection, event

Work = Callable[[str, str, Mapping[str, Any]], None]
"""Called with kind, key and payload; raising means: try again later, or give up after some tries."""

APPLICATION = "slatproof"
WORKFLOW = "work"
STORED_FORM = "1"
POLLING_SECONDS = 0.1
SINGLE_EXECUTOR = "single"

QUEUES = {"read-artwork": "artwork", "prove": "artwork", "batch": "batches", "mail": "mail"}
"""Kind of work → queue; a kind not named here goes on ``artwork``."""


def system_engine(database_url: str) -> sa.Engine:
    """The engine that DBOS keeps its own tables with, in the same database as the orders.

    It cannot be the store's engine: on SQLite DBOS needs the driver's own transaction handling.
    """
    if not database_url.startswith("sqlite"):
        return sa.create_engine(database_url, pool_size=6, max_overflow=4, pool_pre_ping=True)
    from pysqlite3 import dbapi2

    engine = sa.create_engine(database_url, module=dbapi2, connect_args={"timeout": 30})

    @event.listens_for(engine, "connect")
    def _prepare(connection: Any, _record: object) -> None:
        connection.isolation_level = "IMMEDIATE"
        for pragma in ("busy_timeout=30000", "foreign_keys=ON", "journal_mode=WAL", "synchronous=FULL"):
            connection.execute(f"PRAGMA {pragma}")

    return engine


def prepare_tables(engine: sa.Engine) -> None:
    """Make or bring up to date the tables that DBOS keeps its own state in."""
    from dbos._sys_db import SystemDatabase

    database = SystemDatabase.create(
        system_database_url=_url(engine),
        engine_kwargs={},
        engine=engine,
        schema="dbos",
        serializer=PortableJson(),
        executor_id=None,
        use_listen_notify=False,
    )
    database.run_migrations()


class DurableQueue:
    """Where use cases ask for work; needs no worker in this process."""

    def __init__(self, engine: sa.Engine) -> None:
        self._client = DBOSClient(
            system_database_engine=engine, serializer=PortableJson(), application_name=APPLICATION, lazy=True
        )

    def enqueue(self, connection: Connection, kind: str, key: str, payload: Mapping[str, Any]) -> None:
        """See ``service.usecases.context.Queue``."""
        options: EnqueueOptions = {
            "workflow_name": WORKFLOW,
            "queue_name": QUEUES.get(kind, "artwork"),
            "workflow_id": key,
        }
        self._client.enqueue_in_transaction(connection, options, kind, key, dict(payload))

    def forget(self, key: str) -> None:
        """Let go of work that ended, so that the same key may be asked for again."""
        self._client.delete_workflow(key)

    def close(self) -> None:
        """Let go of the database."""
        self._client.destroy()


class Worker:
    """The part of a process that does the work; at most one per process, as DBOS keeps its state per process."""

    def __init__(
        self, engine: sa.Engine, work: Work, concurrency: int, executor: str = SINGLE_EXECUTOR
    ) -> None:
        self._engine = engine
        self._work = work
        self._concurrency = concurrency
        self._executor = executor

    def start(self) -> None:
        """Take up what an earlier process left, then whatever is asked for."""
        logging.getLogger("dbos").setLevel(logging.WARNING)
        config: DBOSConfig = {
            "name": APPLICATION,
            "system_database_engine": self._engine,
            "system_database_url": _url(self._engine),
            "serializer": PortableJson(),
            "application_version": STORED_FORM,
            "executor_id": self._executor,
            "use_listen_notify": False,
            "log_level": "WARNING",
        }
        DBOS(config=config)
        _register(self._work)
        DBOS.launch()
        limits = {"artwork": self._concurrency, "batches": 1, "mail": 2}
        for queue, at_once in limits.items():
            DBOS.register_queue(queue, worker_concurrency=at_once, polling_interval_sec=POLLING_SECONDS)

    def stop(self, seconds: int = 10) -> None:
        """Take no more, wait up to so long for what is under way, and leave the rest for the next start."""
        DBOS.destroy(destroy_registry=True, workflow_completion_timeout_sec=seconds)


def _register(work: Work) -> None:
    step = DBOS.step(name="do", retries_allowed=True, interval_seconds=0.5, backoff_rate=2.0, max_attempts=8)(
        work
    )

    @DBOS.workflow(name=WORKFLOW)
    def run(kind: str, key: str, payload: dict[str, Any]) -> None:
        step(kind, key, payload)


def _url(engine: sa.Engine) -> str:
    return engine.url.render_as_string(hide_password=False)
