"""Room for uploads: bytes that nobody has room for stay with their sender."""

from __future__ import annotations

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager, suppress

from anyio import CapacityLimiter, move_on_after


class TooBusyError(Exception):
    """As many uploads are being taken in as there may be, and none ended for a while."""


class UploadLimiter:
    """So many uploads are taken in at once: the others' bytes are not read, so they wait at their sender.

    No order and no network has more than a part of the places, so that a few senders who take their time shut
    nobody out. The wait is longer than a connection may take its time (``service.gate``).
    """

    def __init__(self, at_once: int, wait_seconds: float = 20.0, share: int | None = None) -> None:
        self._places = CapacityLimiter(at_once)
        self._wait_seconds = wait_seconds
        self._share = share or at_once
        self._shares: dict[str, CapacityLimiter] = {}

    @asynccontextmanager
    async def place(self, *whose: str) -> AsyncIterator[None]:
        """Held from before the first byte is read until the file is kept. Raises TooBusyError after a wait.

        Args:
            *whose: names of what the upload counts for, an order and a network; empty ones are not known.
        """
        shares = {name: self._shares.setdefault(name, CapacityLimiter(self._share)) for name in whose if name}
        holder = object()
        try:
            with move_on_after(self._wait_seconds) as waiting:
                for limiter in (*shares.values(), self._places):
                    await limiter.acquire_on_behalf_of(holder)
            if waiting.cancelled_caught:
                raise TooBusyError
            yield
        finally:
            for limiter in (*shares.values(), self._places):
                with suppress(RuntimeError):  # it was not reached
                    limiter.release_on_behalf_of(holder)
            for name, limiter in shares.items():
                if not limiter.borrowed_tokens and not limiter.statistics().tasks_waiting:
                    self._shares.pop(name, None)
