"""When somebody who listens to an order should look again: when it is rung for, and now and then."""

from __future__ import annotations

import asyncio
from collections.abc import Iterator
from contextlib import contextmanager, suppress

import anyio

from service.store.bells import Bells, order_topic

LOOK_SECONDS = 0.5
"""Between two looks where nothing rings for what other processes do."""
QUIET_SECONDS = 15.0
"""The same where everything rings: a bell may have been missed."""
_TOGETHER_SECONDS = 0.05
"""What comes within so long is looked at together."""


class Hearing:
    """One listener's bell; within one event loop."""

    def __init__(self, bells: Bells) -> None:
        self._bells = bells
        self._loop = asyncio.get_running_loop()
        self._rung = asyncio.Event()

    def ring(self) -> None:
        """From any thread: there is news."""
        with suppress(RuntimeError):  # the loop has ended, and its listeners with it
            self._loop.call_soon_threadsafe(self._rung.set)

    async def news(self, longest: float) -> None:
        """Until there is news, or may be; at most so many seconds."""
        seconds = min(QUIET_SECONDS if self._bells.reach_all else LOOK_SECONDS, longest)
        with anyio.move_on_after(seconds):
            await self._rung.wait()
            await anyio.sleep(_TOGETHER_SECONDS)
        self._rung.clear()


@contextmanager
def hearing(bells: Bells, order_id: str) -> Iterator[Hearing]:
    """Hear of everything within an order."""
    heard = Hearing(bells)
    with bells.heard_by(order_topic(order_id), heard.ring):
        yield heard
