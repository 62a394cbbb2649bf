"""Work of one request in a thread, without the ceremony that a library needs that knows nothing of us.

Handing a request's work to a thread and back is a third of what the cheapest answers cost.
"""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from contextvars import copy_context
from typing import TypeVar

from anyio import CapacityLimiter, WouldBlock

T = TypeVar("T")
MOST_THREADS = 64
"""How many requests are worked on at once is for the limiters to say; there is never less room than they let."""
NAMED = "Request"
"""How the names of these threads begin."""
_pool = ThreadPoolExecutor(MOST_THREADS, thread_name_prefix=NAMED)


async def in_thread(limiter: CapacityLimiter, work: Callable[[], T]) -> T:
    """What the work gives, done in a thread within the limiter, about whatever this task is about.

    As ``anyio.to_thread.run_sync``: whoever is cancelled meanwhile waits until it is done, for nothing stops a thread.
    """
    place = object()
    try:
        limiter.acquire_on_behalf_of_nowait(place)
    except WouldBlock:
        await limiter.acquire_on_behalf_of(place)
    try:
        begun = _pool.submit(copy_context().run, work)
        waiting = asyncio.wrap_future(begun)
        try:
            return await asyncio.shield(waiting)
        except asyncio.CancelledError:
            while not waiting.done():
                with suppress(asyncio.CancelledError):
                    await asyncio.wait([waiting])
            raise
    finally:
        limiter.release_on_behalf_of(place)
