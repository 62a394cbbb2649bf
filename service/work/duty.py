"""What a working process does beside answering: background work, mail, its place on the roll."""

from __future__ import annotations

from typing import Protocol

from service.work.durable import Worker
from service.work.roll import Roll


class Runs(Protocol):
    """Something that runs beside the answers."""

    def start(self) -> None:
        """Begin."""

    def stop(self) -> None:
        """Finish what is in hand and end."""


class Duty:
    """Background work and mail, begun and ended in the order that loses nothing."""

    def __init__(self, worker: Worker, roll: Roll, postman: Runs) -> None:
        self._worker = worker
        self._roll = roll
        self._postman = postman

    def start(self) -> None:
        """Go on the roll, then take up work."""
        self._roll.join()
        self._worker.start(self._roll.id)
        self._roll.start()
        self._postman.start()

    def stop(self) -> None:
        """Take up no more and leave the roll last: what is unfinished is only then anybody's."""
        self._postman.stop()
        self._roll.rest()
        self._worker.stop()
        self._roll.leave()
