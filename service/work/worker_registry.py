"""The registry of workers: who takes up background work, and what becomes of the work of those who died.

Each working process has a row whose counter it raises every few seconds. A worker whose counter stands still
for a while, by the watch of whoever looks, is struck off, and its unfinished work goes back to the queue. A
struck worker that was only stopped finds its row gone when it goes on, and must begin anew under another
name; what it had in hand is stored at most once, because every result is stored in a transaction that looks
whether it is still waited for.

Only the number of beats and this process's own monotonic clock count: neither a clock that is set nor a
database that was away makes anybody dead.
"""

from __future__ import annotations

import logging
import threading
import time
from collections.abc import Callable, Collection, Sequence

from service.orders.ids import new_id
from service.store import upkeep
from service.usecases.context import Clock, UnitOfWork

BEAT_SECONDS = 3.0
SILENCE_SECONDS = 15.0
"""How long a worker may say nothing before its work is given to others."""
LONELY_BEAT_SECONDS = 15.0
"""Of the only worker there can be: nobody waits for its beats but people who look whether it lives."""

TakeOver = Callable[[Callable[[], Collection[str]]], int]
"""Given a function that tells who is in the registry: puts the work of all others back, and says how much."""
log = logging.getLogger("slatproof.work")


class Watch:
    """How long each worker has been silent, as far as this process has seen."""

    def __init__(self, silence: float = SILENCE_SECONDS, clock: Callable[[], float] = time.monotonic) -> None:
        self._silence = silence
        self._clock = clock
        self._heard: dict[str, tuple[int, float]] = {}
        self._looked = clock()

    def silent(self, beats: dict[str, int]) -> dict[str, int]:
        """Take in the counters as they stand; those that stood still for too long."""
        now = self._clock()
        if now - self._looked > self._silence / 2:
            self._heard.clear()  # we ourselves were away: nobody could be heard
        self._looked = now
        self._heard = {
            worker: known if (known := self._heard.get(worker)) and known[0] == count else (count, now)
            for worker, count in beats.items()
        }
        return {worker: count for worker, (count, at) in self._heard.items() if now - at >= self._silence}


class WorkerRegistry:
    """One process's place in the registry; ``join`` before working, then ``start``, and ``leave`` after it."""

    def __init__(
        self,
        store: UnitOfWork,
        clock: Clock,
        take_over: TakeOver,
        *,
        alone: bool,
        struck: Callable[[], None],
        errands: Sequence[Callable[[], object]] = (),
        beat_seconds: float | None = None,
        watch: Watch | None = None,
    ) -> None:
        """A worker to be.

        Args:
            store: where the registry is kept.
            clock: for the moments that people see.
            take_over: puts the work of workers that are no more back in its queue.
            alone: whether this process is known to be the only one on this database.
            struck: called once when this worker was taken for dead by others.
            errands: called at every beat; what is due now and then.
            beat_seconds: time between beats, where not the usual.
            watch: tells which others are silent, where not the usual.
        """
        self.id = new_id()
        self._store = store
        self._clock = clock
        self._take_over = take_over
        self._alone = alone
        self._struck = struck
        self._errands = tuple(errands)
        self._seconds = beat_seconds or (LONELY_BEAT_SECONDS if alone else BEAT_SECONDS)
        self._watch = watch or Watch()
        self._ending = threading.Event()
        self._thread = threading.Thread(target=self._run, name="roll", daemon=True)

    def join(self) -> None:
        """Put this process in the registry."""
        with self._store.writing() as connection:
            if self._alone:
                upkeep.strike_all_workers(connection)
            upkeep.add_worker(connection, self.id, self._clock.now())

    def start(self) -> None:
        """Begin to beat, and to look after the work of the dead."""
        self._thread.start()

    def rest(self) -> None:
        """Stop beating; the others wait for a while yet."""
        self._ending.set()
        if self._thread.is_alive():
            self._thread.join()

    def leave(self) -> None:
        """Go out of the registry; what is unfinished is anybody's from now on."""
        with self._store.writing() as connection:
            upkeep.strike_worker(connection, self.id)

    def look(self) -> bool:
        """One beat: say that this one lives, strike the silent, give their work back; false once struck."""
        with self._store.writing() as connection:
            if not upkeep.beat(connection, self.id, self._clock.now()):
                return False
            for worker, beats in self._watch.silent(upkeep.beats_of_workers(connection)).items():
                log.warning("worker %s has said nothing for too long: its work is given to others", worker)
                upkeep.strike_worker(connection, worker, beats)
        taken = self._take_over(self._on_the_roll)
        if taken:
            log.warning("took over %d pieces of unfinished work", taken)
        for errand in self._errands:
            errand()
        return True

    def _on_the_roll(self) -> Collection[str]:
        with self._store.reading() as connection:
            return upkeep.beats_of_workers(connection)

    def _run(self) -> None:
        while True:
            try:
                if not self.look():
                    log.error("this worker was taken for dead and must begin anew")
                    self._struck()
                    return
            except Exception:
                # The database may be away for a moment; the thread must outlive that.
                log.exception("the registry of workers could not be looked after; trying again")
            if self._ending.wait(self._seconds):
                return
