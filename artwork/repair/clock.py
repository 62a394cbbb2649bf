"""The time that a repair may take."""

from __future__ import annotations

import time
from dataclasses import replace

from artwork.repair.values import Budget


class Clock:
    """Counts processor time of this thread against a budget."""

    def __init__(self, budget: Budget) -> None:
        self._budget = budget
        self._end = time.thread_time() + budget.seconds

    def part(self, seconds: float) -> Clock:
        """A clock for so many seconds of those that are left."""
        return Clock(replace(self._budget, seconds=min(self.left, seconds)))

    @property
    def left(self) -> float:
        """Seconds until the time is up; 0 after it."""
        return max(self._end - time.thread_time(), 0.0)

    @property
    def over(self) -> bool:
        """Whether the time is up, or the work has been cancelled."""
        return time.thread_time() > self._end or self._budget.cancelled()
