"""Parts that are away: no fault of the work that needs them, so no try of it is spent on that.

What is away comes back, or somebody brings it back; until then work waits, longer each time up to a quarter of a
minute, so that all of it goes on by itself soon after.
"""

from __future__ import annotations

import random
from enum import StrEnum

from sqlalchemy.exc import InterfaceError, OperationalError
from sqlalchemy.exc import TimeoutError as NoConnectionError

from service.orders.errors import TooManyError
from service.store.blobs import BlobsAwayError

FIRST_WAIT_SECONDS = 0.5
LONGEST_WAIT_SECONDS = 12.0
"""Before the part that is drawn by lot; with it, at most 15 s."""
_DRAWN = 0.25


class Away(StrEnum):
    """What is away."""

    FILES = "files"
    DATABASE = "database"

    @property
    def words(self) -> str:
        """For people who wait."""
        return (
            f"Waits: the {self.value} of this service cannot be reached. It goes on by itself once they can; "
            "nobody needs to send or do anything."
        )


def away_of(error: BaseException) -> Away | None:
    """The part whose absence an error tells of; ``None`` where the work itself failed."""
    if isinstance(error, BlobsAwayError):
        return Away.FILES
    if isinstance(error, (OperationalError, InterfaceError, NoConnectionError, TooManyError)):
        return Away.DATABASE
    return None


def wait_seconds(times: int) -> float:
    """How long to wait before the next look, after ``times`` looks in vain (1 and on)."""
    longest: float = min(FIRST_WAIT_SECONDS * 2.0**times, LONGEST_WAIT_SECONDS)
    return longest * random.uniform(1 - _DRAWN, 1 + _DRAWN)  # noqa: S311 - spreads, hides nothing
