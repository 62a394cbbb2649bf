"""Takes work from the lanes: the engine's own pollers, woken by a bell, with limits of this process's own.

The engine keeps the limits of a queue in the database, where the last worker to start sets them for all, and looks
for work every so many seconds. Its poller takes a queue and an event to be stopped by; given a queue that is in no
database and a bell in place of the event, it does what is wanted here. The names of the engine that begin with an
underscore are internal: its version is locked for them (``docs/adr/0018-what-of-the-durable-engine-is-used.md``).
"""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from contextlib import ExitStack

from dbos._dbos import _get_dbos_instance
from dbos._queue import _INTERNAL_QUEUE_CONSTRUCTION, Queue, queue_worker_thread

from service.store.bells import WORK, Bells
from service.work.lanes import Lane

IDLE_SECONDS = 10.0
"""Between two looks where nothing was rung for a while: a bell may have been missed, and waits end unrung."""
BUSY_SECONDS = 10.0
"""After a ring, so long it is looked often: the engine counts a place as taken a moment longer than work is at it, and
what is tried again later rings nobody."""
SLOWING = 0.25
"""The longer ago the ring, the longer between two looks, by this share: every look costs some processor."""


def pause(often: float, since: float, idle: float | None) -> float | None:
    """Seconds until the next look, so many seconds after the last ring.

    Args:
        often: just after a ring.
        since: the ring.
        idle: where nothing was rung for a while; ``None`` for no end.
    """
    return max(often, SLOWING * since) if since < BUSY_SECONDS else idle


class Bell:
    """What the engine's pollers wait by: rung, they look at once, and often for a while; ended, they end.

    It stands in for the event that they are stopped by, which can only be set for good.
    """

    def __init__(self, often: float, always_often: Callable[[], bool]) -> None:
        """A bell that counts as rung once, for what was asked for before anybody listened.

        Args:
            often: seconds between two looks just after a ring.
            always_often: whether not all that would ring is heard.
        """
        self._often = often
        self._always_often = always_often
        self._last = -BUSY_SECONDS
        self._state = threading.Condition()
        self._rings, self._heard = 1, 0
        self._ended = False

    def ring(self) -> None:
        """There is work."""
        with self._state:
            self._rings += 1
            self._last = time.monotonic()
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
        timeout = pause(self._often, 0.0 if self._always_often() else time.monotonic() - self._last, timeout)
        with self._state:
            self._state.wait_for(lambda: self._ended or self._rings != self._heard, timeout)
            self._heard = self._rings
            return self._ended


class Pollers:
    """Takes work from the lanes, a thread each; the engine's own pollers are kept from it (``DBOS.listen_queues``)."""

    def __init__(self, which: tuple[Lane, ...], bells: Bells) -> None:
        self._lanes = which
        self._hears = bells
        self._bells = {lane.name: Bell(lane.every_seconds, lambda: not bells.reach_all) for lane in which}
        self._hearing = ExitStack()
        self._threads: list[threading.Thread] = []

    def start(self) -> None:
        """Begin; the engine has been launched."""
        self._hearing.enter_context(self._hears.heard_by(WORK, self.ring))
        for lane in self._lanes:
            queue = Queue(
                lane.name,
                worker_concurrency=lane.places,
                partition_worker_concurrency=lane.of_one,
                polling_interval_sec=IDLE_SECONDS,
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
        self._hearing.close()
        for bell in self._bells.values():
            bell.end()
        end = time.monotonic() + seconds
        for thread in self._threads:
            thread.join(max(0.0, end - time.monotonic()))
