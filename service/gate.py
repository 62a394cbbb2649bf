"""Connections: how many there may be, and how long each may take to say something.

uvicorn ends connections that are idle after an answer. It waits for ever for the first byte, for the rest of a
head, for the rest of a body, and for a reader; it knows no sizes of heads and no addresses. This does.
"""

from __future__ import annotations

import asyncio
import resource
from collections import Counter
from collections.abc import Collection
from dataclasses import dataclass
from typing import Any

from uvicorn.protocols.http.httptools_impl import HttpToolsProtocol

from service.access.networks import network_of
from service.metering import ENDED_CONNECTIONS

_LOOK_SECONDS = 1.0
_SPARE_FILES = 256
"""Open files that are not connections: database, blobs, processes."""


@dataclass(frozen=True)
class Patience:
    """How long a connection may take, and how much.

    Attributes:
        head_seconds: until the whole head of a request is there, from its first byte or the connection's start.
        head_bytes: of a request's line and headers.
        body_grace_seconds: before the rate of a body is looked at.
        body_rate: least bytes a second of a body from then on; 8 kB/s is a poor mobile connection.
        body_seconds: of a whole body.
        reader_seconds: without taking any of an answer.
    """

    head_seconds: float = 15.0
    head_bytes: int = 64 * 1024
    body_grace_seconds: float = 5.0
    body_rate: float = 8 * 1024
    body_seconds: float = 600.0
    reader_seconds: float = 60.0


class Places:
    """So many places in all, and so many of them for one network; the empty network has no share of its own."""

    def __init__(self, in_all: int, per_network: int) -> None:
        self._in_all = in_all
        self._per_network = per_network
        self._taken: Counter[str] = Counter()
        self._total = 0

    def take(self, network: str) -> bool:
        """Take a place, where there is one."""
        if self._total >= self._in_all or (network and self._taken[network] >= self._per_network):
            return False
        self._total += 1
        self._taken[network] += 1
        return True

    def give_back(self, network: str) -> None:
        """Leave it."""
        self._total -= 1
        self._taken[network] -= 1
        if not self._taken[network]:
            del self._taken[network]


def make_room_for(connections: int) -> None:
    """Let this process open so many connections, as far as the system lets it."""
    soft, hard = resource.getrlimit(resource.RLIMIT_NOFILE)
    wanted = connections + _SPARE_FILES
    if soft != resource.RLIM_INFINITY and soft < wanted:
        most = wanted if hard == resource.RLIM_INFINITY else min(wanted, hard)
        resource.setrlimit(resource.RLIMIT_NOFILE, (most, hard))


def gated(places: Places, patience: Patience, proxies: Collection[str] = ()) -> type[HttpToolsProtocol]:
    """The protocol class for ``uvicorn.Config(http=…)``.

    Args:
        places: shared by all connections of a process.
        patience: the deadlines.
        proxies: addresses whose connections are many people's; ``"*"`` stands for all.
    """
    return type(
        "GatedConnection", (_Gated,), {"places": places, "patience": patience, "proxies": frozenset(proxies)}
    )


class _Gated(HttpToolsProtocol):
    """One connection. Its phase is ``head``, ``body``, ``answer`` or ``idle``; empty where it was turned away."""

    places: Places
    patience: Patience
    proxies: frozenset[str]

    def __init__(self, *args: Any, **more: Any) -> None:
        super().__init__(*args, **more)
        self._phase = ""
        self._since = 0.0
        self._bytes = 0
        self._unread_since: float | None = None
        self._timer: asyncio.TimerHandle | None = None
        self._network: str | None = None

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        """See asyncio."""
        super().connection_made(transport)
        address = self.client[0] if self.client else ""
        network = "" if address in self.proxies or "*" in self.proxies else network_of(address)
        if not self.places.take(network):
            self._end("places", 503, b"Retry-After: 5\r\n")
            return
        self._network = network
        self._begin("head")
        self._look_later()

    def connection_lost(self, exc: Exception | None) -> None:
        """See asyncio."""
        super().connection_lost(exc)
        self._leave()

    def data_received(self, data: bytes) -> None:
        """See asyncio."""
        if not self._phase or self.transport.is_closing():
            return
        if self._phase == "idle":
            self._begin("head")
        in_head = self._phase == "head"
        super().data_received(data)
        if in_head and self._phase == "head":
            self._bytes += len(data)
            if self._bytes > self.patience.head_bytes:
                self._end("head too large", 431)

    def on_headers_complete(self) -> None:
        """See httptools."""
        self._begin("body")
        super().on_headers_complete()

    def on_body(self, body: bytes) -> None:
        """See httptools."""
        self._bytes += len(body)
        super().on_body(body)

    def on_message_complete(self) -> None:
        """See httptools."""
        answered = self.cycle is not None and self.cycle.response_complete
        self._phase = "idle" if answered else "answer"
        super().on_message_complete()

    def on_response_complete(self) -> None:
        """See uvicorn."""
        if self._phase == "answer" and not self.pipeline:
            self._phase = "idle"
        super().on_response_complete()

    def handle_websocket_upgrade(self) -> None:
        """Sockets are counted where they are answered, by ``service.load_shedding``."""
        self._leave()
        super().handle_websocket_upgrade()

    def pause_writing(self) -> None:
        """See asyncio."""
        self._unread_since = self.loop.time()
        super().pause_writing()

    def resume_writing(self) -> None:
        """See asyncio."""
        self._unread_since = None
        super().resume_writing()

    def _begin(self, phase: str) -> None:
        self._phase, self._since, self._bytes = phase, self.loop.time(), 0

    def _look_later(self) -> None:
        self._timer = self.loop.call_later(_LOOK_SECONDS, self._look)

    def _look(self) -> None:
        now, patience = self.loop.time(), self.patience
        if self._unread_since is not None and now - self._unread_since > patience.reader_seconds:
            self._end("reader")
        elif self._phase == "head" and now - self._since > patience.head_seconds:
            self._end("head", 408 if self._bytes else None)
        elif self._phase == "body" and self.flow.read_paused:
            self._since += _LOOK_SECONDS  # we do not read: the sender cannot send
        elif self._phase == "body" and self._is_too_slow(now - self._since):
            self._end("body", 408)
        if not self.transport.is_closing():
            self._look_later()

    def _is_too_slow(self, seconds: float) -> bool:
        patience = self.patience
        wanted = (seconds - patience.body_grace_seconds) * patience.body_rate
        return seconds > patience.body_seconds or self._bytes < wanted

    def _end(self, why: str, status: int | None = None, headers: bytes = b"") -> None:
        ENDED_CONNECTIONS.labels(why).inc()
        begun = self.cycle is not None and self.cycle.response_started and not self.cycle.response_complete
        if status is None or begun:
            self.transport.abort()
            return
        self.transport.write(
            b"HTTP/1.1 %d \r\n%sContent-Length: 0\r\nConnection: close\r\n\r\n" % (status, headers)
        )
        self.transport.close()

    def _leave(self) -> None:
        if self._timer is not None:
            self._timer.cancel()
            self._timer = None
        if self._network is not None:
            self.places.give_back(self._network)
            self._network = None
