"""The durable queue, loaded when somebody first asks for work: its library takes as long as all the rest."""

from __future__ import annotations

import threading
from collections.abc import Mapping
from datetime import datetime
from importlib.metadata import version
from typing import TYPE_CHECKING, Any

from sqlalchemy import Connection, Engine

from service.orders.upkeep import Chore, Done
from service.store import upkeep
from service.usecases.context import Clock, UnitOfWork

if TYPE_CHECKING:
    from service.work.durable import DurableQueue


class LazyQueue:
    """The ``Queue`` of the use cases."""

    def __init__(self, database_url: str) -> None:
        self._url = database_url
        self._making = threading.Lock()
        self._made: tuple[Engine, DurableQueue] | None = None

    def prepare(self, store: UnitOfWork, clock: Clock) -> None:
        """Bring the library's own tables up to its version; loads it only where that is another one."""
        now = version("dbos")
        with store.reading() as connection:
            before = upkeep.last_done(connection).get(Chore.ENGINE)
        if before is not None and before.words == now:
            return
        from service.work.durable import prepare_tables

        prepare_tables(self.load()[0])
        with store.writing() as connection:
            upkeep.note_done(connection, Done(Chore.ENGINE, clock.now(), well=True, words=now))

    def load(self) -> tuple[Engine, DurableQueue]:
        """The queue and what it keeps its tables with, made now if not before."""
        with self._making:
            if self._made is None:
                from service.work.durable import DurableQueue, system_engine

                engine = system_engine(self._url)
                self._made = engine, DurableQueue(engine)
            return self._made

    def enqueue(self, connection: Connection, kind: str, key: str, payload: Mapping[str, Any]) -> None:
        """See ``service.usecases.context.Queue``."""
        self.load()[1].enqueue(connection, kind, key, payload)

    def forget_done(self, before: datetime) -> int:
        """See :class:`service.work.durable.DurableQueue`."""
        return self.load()[1].forget_done(before)

    def close(self) -> None:
        """Let go of the database."""
        if self._made is not None:
            engine, queue = self._made
            queue.close()
            engine.dispose()
