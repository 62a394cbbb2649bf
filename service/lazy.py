"""A part of the application that is put together when somebody first asks for it."""

from __future__ import annotations

import threading
from collections.abc import Callable

from anyio import to_thread
from starlette.types import ASGIApp, Receive, Scope, Send


class Lazy:
    """An ASGI application that stands for another, which takes a while to load."""

    def __init__(self, make: Callable[[], ASGIApp]) -> None:
        self._make = make
        self._making = threading.Lock()
        self._made: ASGIApp | None = None
        self.then: Callable[[], object] = lambda: None
        """Called once it is made."""

    def load(self) -> ASGIApp:
        """The other one, made now if not before."""
        with self._making:
            if self._made is None:
                self._made = self._make()
                self.then()
            return self._made

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Hand one request or socket on."""
        if self._made is None:
            await to_thread.run_sync(self.load)
        await self.load()(scope, receive, send)
