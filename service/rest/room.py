"""Room for uploads: bytes that nobody has room for stay with their sender."""

from __future__ import annotations

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager, suppress

from anyio import CapacityLimiter, move_on_after


class NoRoom(Exception):  # noqa: N818
    """As many uploads are being taken in as there may be, and none ended for a while."""


class Room:
    """So many uploads are taken in at once: the others' bytes are not read, so they wait at their sender.

    No network has more than a part of the places, so that a few senders who take their time shut nobody out.
    """

    def __init__(self, at_once: int, wait_seconds: float = 5.0, per_network: int | None = None) -> None:
        self._places = CapacityLimiter(at_once)
        self._wait_seconds = wait_seconds
        self._per_network = per_network or at_once
        self._networks: dict[str, CapacityLimiter] = {}

    @asynccontextmanager
    async def place(self, network: str = "") -> AsyncIterator[None]:
        """Held from before the first byte is read until the file is kept. Raises NoRoom after a wait.

        Args:
            network: whose upload it is; empty where that is not known.
        """
        own = self._networks.setdefault(network, CapacityLimiter(self._per_network)) if network else None
        holder = object()
        try:
            with move_on_after(self._wait_seconds) as waiting:
                if own is not None:
                    await own.acquire_on_behalf_of(holder)
                await self._places.acquire_on_behalf_of(holder)
            if waiting.cancelled_caught:
                raise NoRoom
            yield
        finally:
            for limiter in (own, self._places):
                with suppress(RuntimeError):  # it was not reached
                    if limiter is not None:
                        limiter.release_on_behalf_of(holder)
            if own is not None and not own.borrowed_tokens and not own.statistics().tasks_waiting:
                self._networks.pop(network, None)
