"""When somebody who listens should look again: when it is rung for, and now and then."""

from __future__ import annotations

import asyncio
from collections.abc import Iterator
from contextlib import contextmanager, suppress

import anyio

from service.store.bells import Bells

LOOK_SECONDS = 0.5
"""Between two looks where nothing rings for what other processes do."""
QUIET_SECONDS = 60.0
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

    @property
    def longest(self) -> float:
        """Seconds after which one looks by oneself."""
        return QUIET_SECONDS if self._bells.reach_all else LOOK_SECONDS

    async def news(self, longest: float) -> bool:
        """Whether it was rung within so many seconds."""
        with anyio.move_on_after(max(0.0, longest)):
            await self._rung.wait()
            await anyio.sleep(_TOGETHER_SECONDS)
        rung = self._rung.is_set()
        self._rung.clear()
        return rung


@contextmanager
def hearing(bells: Bells, topic: str) -> Iterator[Hearing]:
    """Hear of everything of a topic."""
    heard = Hearing(bells)
    with bells.heard_by(topic, heard.ring):
        yield heard
