"""Room for uploads: bytes that nobody has room for stay with their sender."""

from __future__ import annotations

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager

from anyio import CapacityLimiter, move_on_after


class NoRoom(Exception):  # noqa: N818
    """As many uploads are being taken in as there may be, and none ended for a while."""


class Room:
    """So many uploads are taken in at once: the others' bytes are not read, so they wait at their sender."""

    def __init__(self, at_once: int, wait_seconds: float = 5.0) -> None:
        self._places = CapacityLimiter(at_once)
        self._wait_seconds = wait_seconds

    @asynccontextmanager
    async def place(self) -> AsyncIterator[None]:
        """Held from before the first byte is read until the file is kept. Raises NoRoom after a wait."""
        with move_on_after(self._wait_seconds) as waiting:
            await self._places.acquire()
        if waiting.cancelled_caught:
            raise NoRoom
        try:
            yield
        finally:
            self._places.release()
