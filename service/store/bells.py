"""Whoever waits for something to happen in the database is rung, instead of asking again and again.

A change tells its topic within its transaction; it is rung once that is committed: in this process, and on PostgreSQL
in every process that listens (https://www.postgresql.org/docs/current/sql-notify.html). A bell may be missed (a
connection lost, another process on one SQLite file): waiters look by themselves now and then, often where nothing
rings across processes.
"""

from __future__ import annotations

import logging
import threading
from collections import defaultdict
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

from sqlalchemy import Connection, Engine

WORK = "work"
MAIL = "mail"
EVENTS = "events"
"""Events of whichever workshop, and what its webhooks are to be sent."""
CHANNEL = "slatproof"
TOPICS = "slatproof_topics"
"""Execution option of a connection that writes: the topics told in its transaction."""
_CONNECT_AGAIN_SECONDS = 2.0
_LOOK_UP_SECONDS = 1.0
log = logging.getLogger("slatproof.store")


def order_topic(order_id: str) -> str:
    """The topic of everything within one order."""
    return f"order:{order_id}"


def events_topic(workshop_id: str) -> str:
    """The topic of every event of one workshop."""
    return f"events:{workshop_id}"


def tell(connection: Connection, topic: str) -> None:
    """Ring for this once the transaction is committed; nothing where nobody of this kind of connection rings."""
    topics: set[str] | None = connection.get_execution_options().get(TOPICS)
    if topics is not None:
        topics.add(topic)


class Bells:
    """Who waits for what in this process.

    Attributes:
        reach_all: whether what others do rings here too; where not, waiters must look often.
    """

    def __init__(self) -> None:
        self.reach_all = False
        self._lock = threading.Lock()
        self._waiting: defaultdict[str, set[Callable[[], None]]] = defaultdict(set)

    @contextmanager
    def heard_by(self, topic: str, ring: Callable[[], None]) -> Iterator[None]:
        """Call ``ring``, in whatever thread, whenever there is news of the topic."""
        with self._lock:
            self._waiting[topic].add(ring)
        try:
            yield
        finally:
            with self._lock:
                self._waiting[topic].discard(ring)
                if not self._waiting[topic]:
                    del self._waiting[topic]

    def ring(self, topic: str) -> None:
        """There is news of the topic."""
        with self._lock:
            waiting = list(self._waiting.get(topic, ()))
        for ring in waiting:
            ring()

    def ring_all(self) -> None:
        """News may have been missed."""
        with self._lock:
            waiting = [ring for rings in self._waiting.values() for ring in rings]
        for ring in waiting:
            ring()


class Listener:
    """Hears on PostgreSQL what all processes tell, by a connection of its own."""

    def __init__(self, engine: Engine, bells: Bells) -> None:
        self._engine = engine
        self._bells = bells
        self._ending = threading.Event()
        self._thread = threading.Thread(target=self._run, name="bells", daemon=True)

    def start(self) -> None:
        """Begin."""
        self._thread.start()

    def stop(self) -> None:
        """End."""
        self._ending.set()
        if self._thread.is_alive():
            self._thread.join()

    def _run(self) -> None:
        while not self._ending.is_set():
            try:
                self._listen()
            except Exception as error:  # noqa: BLE001 - the database is away, in whatever way; waiters look meanwhile
                self._bells.reach_all = False
                log.warning("nothing is heard of other processes: %s", type(error).__name__)
                self._ending.wait(_CONNECT_AGAIN_SECONDS)

    def _listen(self) -> None:
        import psycopg

        arguments, named = self._engine.dialect.create_connect_args(self._engine.url)
        connection: Any = psycopg.connect(*arguments, **named, autocommit=True)
        with connection:
            connection.execute(f"LISTEN {CHANNEL}")
            self._bells.reach_all = True
            self._bells.ring_all()  # what was told before is not heard
            while not self._ending.is_set():
                for told in connection.notifies(timeout=_LOOK_UP_SECONDS):
                    self._bells.ring(told.payload)
        self._bells.reach_all = False
