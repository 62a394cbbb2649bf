"""Places for computations: a fixed number, each with a process that one caller has at a time."""

from __future__ import annotations

import threading
import time
from collections.abc import Iterator
from dataclasses import dataclass

from service.orders.errors import TooManyError
from service.work.cage.template import CagedProcess


@dataclass(eq=False)
class Place:
    """One process and what it has in hand; used by one caller at a time."""

    process: CagedProcess | None = None
    tasks: int = 0
    holds: str | None = None
    whose: str | None = None
    used_at: float = 0.0
    taken: bool = False
    for_drawing: bool = False


class Places:
    """Hands out places: to who works on the same thing again first of all, and to nobody more than half of them."""

    def __init__(self, usual: int, for_drawing: int) -> None:
        """With so many places for everything, and more that only pictures are drawn in."""
        self.every = [Place() for _ in range(usual)]
        self.every += [Place(for_drawing=True) for _ in range(for_drawing)]
        self.usual = usual
        self._free = threading.Condition()

    def take(
        self,
        about: str | None,
        wait: float | None,
        leave: int = 0,
        whose: str | None = None,
        *,
        drawing: bool = False,
    ) -> Place:
        """A place for one computation, once more than ``leave`` of them are free. TooManyError."""
        deadline = None if wait is None else time.monotonic() + wait
        with self._free:
            while True:
                free = [place for place in self.every if not place.taken and place.for_drawing <= drawing]
                if len(free) > leave and self._may_have_more(whose):
                    place = min(free, key=lambda place: self._preference(place, about))
                    place.taken = True
                    place.whose = whose
                    place.holds = about
                    return place
                left = None if deadline is None else deadline - time.monotonic()
                if left is not None and left <= 0:
                    raise TooManyError(retry_after=5.0)
                self._free.wait(left)

    def _may_have_more(self, whose: str | None) -> bool:
        usual = [place for place in self.every if not place.for_drawing]
        in_hand = sum(place.taken and place.whose == whose for place in usual)
        return whose is None or in_hand < max(len(usual) // 2, 1)

    @staticmethod
    def _preference(place: Place, about: str | None) -> tuple[bool, bool, bool, float]:
        """What holds the work in hand first, then a place that nobody but pictures may take."""
        known = about is None or place.holds != about
        return (known, not place.for_drawing, place.process is None, -place.used_at)

    def give_back(self, place: Place) -> None:
        """Let others have it."""
        with self._free:
            place.taken = False
            place.used_at = time.monotonic()
            self._free.notify_all()  # those who leave a place to others may not be the ones who can go on

    def idle(self, seconds: float) -> Iterator[Place]:
        """Take each place but the first whose process nobody used for so long; to be given back."""
        for place in self.every[1:]:
            with self._free:
                idle = not place.taken and time.monotonic() - place.used_at > seconds
                if not idle or place.process is None:
                    continue
                place.taken = True
            yield place
