"""A thread that looks after something when a bell rings for it, and after a while without."""

from __future__ import annotations

import threading
from collections.abc import Callable

from service.store.bells import Bells

_APART_SECONDS = 0.1
"""Between the end of one look and the next: what is rung for meanwhile is met by one look."""


class Rounds:
    """Looks again and again, and outlives what goes wrong: the database may be away for a moment.

    Attributes:
        ending: set once it is to end.
    """

    def __init__(
        self,
        name: str,
        *,
        bells: Bells,
        topic: str,
        look: Callable[[], float],
        rest: Callable[[], float],
        failed: Callable[[], None],
    ) -> None:
        """A thread that has not begun.

        Args:
            name: of the thread.
            bells: that ring it.
            topic: for what.
            look: does what is due; seconds until it must be looked again.
            rest: seconds before the first look, and after one that failed.
            failed: tells of the exception in hand.
        """
        self.ending = threading.Event()
        self._bells, self._topic = bells, topic
        self._look, self._rest, self._failed = look, rest, failed
        self._wake = threading.Event()
        self._thread = threading.Thread(target=self._run, name=name, daemon=True)

    def start(self) -> None:
        """Begin."""
        self._thread.start()

    def stop(self, seconds: float) -> None:
        """Finish what is in hand, waiting at most so long, and end."""
        self.ending.set()
        self._wake.set()
        self._thread.join(seconds)

    def _run(self) -> None:
        with self._bells.heard_by(self._topic, self._wake.set):
            seconds = self._rest()
            while True:
                self._wake.wait(seconds)
                self._wake.clear()
                if self.ending.is_set():
                    return
                try:
                    seconds = self._look()
                except Exception:  # noqa: BLE001 - it is told, and the thread must outlive it
                    self._failed()
                    seconds = self._rest()
                self.ending.wait(_APART_SECONDS)
