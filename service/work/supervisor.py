"""What a working process does beside answering: background work, mail, its place in the registry."""

from __future__ import annotations

import logging
import threading
from collections.abc import Callable, Sequence
from typing import Protocol

from sqlalchemy.exc import InterfaceError, OperationalError

from service.work.durable import Worker
from service.work.worker_registry import WorkerRegistry

RETRY_SECONDS = 2.0
"""Between two tries to begin while the database is away or its disk is full."""

Step = tuple[Callable[[], object], Callable[[], object]]
"""How something is begun and how it is ended."""
_AWAY = (OperationalError, InterfaceError)
log = logging.getLogger("slatproof.work")


class Runs(Protocol):
    """Something that runs beside the answers."""

    def start(self) -> None:
        """Begin."""

    def stop(self) -> None:
        """Finish what is in hand and end."""


class Supervisor:
    """Background work and mail, begun and ended in the order that loses nothing."""

    def __init__(
        self, worker: Worker, roll: WorkerRegistry, carriers: Sequence[Runs], ending: threading.Event
    ) -> None:
        """A duty that is not begun.

        Args:
            worker, roll: its parts.
            carriers: what takes messages out: mail, webhooks.
            ending: once set, nothing more is begun.
        """
        # The registry first and last: what is unfinished is anybody's only after this process has let go of it.
        self._steps: tuple[Step, ...] = (
            (roll.join, roll.leave),
            (lambda: worker.start(roll.id), worker.stop),
            (roll.start, roll.rest),
            *((each.start, each.stop) for each in carriers),
        )
        self._ending = ending
        self._ends: list[Callable[[], object]] = []

    def start(self) -> None:
        """Go into the registry, then take up work. A database that is away, or full, is waited for."""
        for begin, end in self._steps:
            if not self._begun(begin):
                return
            self._ends.append(end)

    def stop(self) -> None:
        """End what was begun, last first. A database that is away keeps nobody: others see the silence."""
        while self._ends:
            end = self._ends.pop()
            try:
                end()
            except _AWAY as error:
                log.warning("background work ends without a word to the others: %s", error.orig)

    def _begun(self, begin: Callable[[], object]) -> bool:
        while not self._ending.is_set():
            try:
                begin()
            except _AWAY as error:
                log.warning("background work cannot begin yet: %s; trying again", error.orig)
                self._ending.wait(RETRY_SECONDS)
            else:
                return True
        return False
