"""Takes work from the lanes: the engine's own pollers, woken by a bell, with limits of this process's own.

The engine keeps the limits of a queue in the database, where the last worker to start sets them for all, and looks
for work every so many seconds. Its poller takes a queue and an event to be stopped by; given a queue that is in no
database and a bell in place of the event, it does what is wanted here. The names of the engine that begin with an
underscore are internal: its version is locked for them (``docs/adr/0018-what-of-the-durable-engine-is-used.md``).
"""

from __future__ import annotations

import threading
import time

from dbos._dbos import _get_dbos_instance
from dbos._queue import _INTERNAL_QUEUE_CONSTRUCTION, Queue, queue_worker_thread

from service.work.lanes import Lane


class Bell:
    """What the engine's pollers wait by: rung, they look at once; ended, they end.

    It stands in for the event that they are stopped by, which can only be set for good.
    """

    def __init__(self) -> None:
        self._state = threading.Condition()
        self._rings = self._heard = 0
        self._ended = False

    def ring(self) -> None:
        """There is work."""
        with self._state:
            self._rings += 1
            self._state.notify_all()

    def end(self) -> None:
        """Nobody looks any more."""
        with self._state:
            self._ended = True
            self._state.notify_all()

    def is_set(self) -> bool:
        """Whether it has ended."""
        return self._ended

    def wait(self, timeout: float | None = None) -> bool:
        """Until it is rung or ended, at most so long; whether it has ended. For one who waits."""
        with self._state:
            self._state.wait_for(lambda: self._ended or self._rings != self._heard, timeout)
            self._heard = self._rings
            return self._ended


class Pollers:
    """Takes work from the lanes, a thread each; the engine's own pollers are kept from it (``DBOS.listen_queues``)."""

    def __init__(self, which: tuple[Lane, ...]) -> None:
        self._lanes = which
        self._bells = {lane.name: Bell() for lane in which}
        self._threads: list[threading.Thread] = []

    def start(self) -> None:
        """Begin; the engine has been launched."""
        for lane in self._lanes:
            queue = Queue(
                lane.name,
                worker_concurrency=lane.places,
                partition_worker_concurrency=lane.of_one,
                polling_interval_sec=lane.every_seconds,
                token=_INTERNAL_QUEUE_CONSTRUCTION,
            )
            thread = threading.Thread(
                target=queue_worker_thread,
                args=(self._bells[lane.name], _get_dbos_instance(), queue),
                name=f"lane-{lane.name}",
                daemon=True,
            )
            self._threads.append(thread)
            thread.start()

    def ring(self) -> None:
        """Something was asked for, or ended: look."""
        for bell in self._bells.values():
            bell.ring()

    def stop(self, seconds: float = 10.0) -> None:
        """Take no more."""
        for bell in self._bells.values():
            bell.end()
        end = time.monotonic() + seconds
        for thread in self._threads:
            thread.join(max(0.0, end - time.monotonic()))
