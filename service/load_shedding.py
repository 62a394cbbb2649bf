"""What stands before both doors: request numbers, security headers, a limit on how much goes on at once."""

from __future__ import annotations

import logging
import re
import secrets
import time
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

from prometheus_client import Histogram
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from service import logs
from service.access import rate_limit
from service.access.networks import is_unnamed_proxy, network_of
from service.gate import Places
from service.metering import REQUESTS, TURNED_AWAY, route_of
from service.rest import problems
from service.rest.headers import limits_told

# No inline script, nothing from elsewhere; pictures may be data URIs (trial previews), styles stay in files.
POLICY = (
    "default-src 'none'; object-src 'none'; script-src 'self'; style-src 'self'; font-src 'self'; "
    "img-src 'self' data: blob:; connect-src 'self'; form-action 'self'; frame-ancestors 'none'; "
    "base-uri 'none'; manifest-src 'self'"
)
HEADERS = {
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(), geolocation=(), microphone=(), payment=(), usb=()",
    "X-Frame-Options": "DENY",
    "Content-Security-Policy": POLICY,
}
UNCOUNTED = frozenset({"/health/live", "/health/ready", "/metrics"})
TRY_AGAIN_LATER = 1013
"""Close code of a WebSocket (IANA registry of RFC 6455 close codes)."""
YEAR = 365 * 24 * 3600
# Links carry their secret in the path: whoever reads the log must not be able to open them.
_SECRET = re.compile(r"^/(link|password)/.+")
_METHODS = frozenset({"GET", "HEAD", "POST", "PUT", "PATCH", "DELETE", "OPTIONS"})

log = logging.getLogger("slatproof.request")


@dataclass(frozen=True)
class Crowd:
    """How much may go on at once, in all and for one network.

    Attributes:
        requests: what is answered and done with. Whoever watches the machine is always answered.
        streams: sockets and event streams, which stay open.
        trusts_a_proxy: whether addresses are the clients' own behind a proxy.
    """

    requests: Places
    streams: Places
    trusts_a_proxy: bool

    @classmethod
    def of(cls, requests: int, streams: int, *, trusts_a_proxy: bool) -> Crowd:
        """Half of all requests and a sixth of all streams are the most for one network."""
        return cls(
            Places(requests, max(requests // 2, 1)), Places(streams, max(streams // 6, 1)), trusts_a_proxy
        )

    def places_for(self, scope: Scope) -> tuple[str, Places | None]:
        """What a request counts as, and the places for it."""
        if scope["type"] == "websocket":
            return "stream", self.streams
        if scope["path"] in UNCOUNTED:
            return "health", None
        accepts = next((value for name, value in scope["headers"] if name == b"accept"), b"")
        if scope["path"].endswith("/events") or b"text/event-stream" in accepts:
            return "stream", self.streams
        return "request", self.requests

    def whose(self, scope: Scope) -> str:
        """The network a request counts for; empty behind a proxy that was not declared."""
        address = scope["client"][0] if scope.get("client") else ""
        names = {name for name, _ in scope["headers"]}
        if is_unnamed_proxy(address, names, trusts_a_proxy=self.trusts_a_proxy):
            return ""
        return network_of(address)


def _raw(headers: Mapping[str, str]) -> list[tuple[bytes, bytes]]:
    """As ASGI has them."""
    return [(name.lower().encode("latin-1"), value.encode("latin-1")) for name, value in headers.items()]


@lru_cache(maxsize=4096)
def _counter(method: str, route: str, status: int) -> Histogram:
    """What counts such answers; found once."""
    counter: Histogram = REQUESTS.labels(method if method in _METHODS else "other", route, str(status))
    return counter


async def _turn_away(scope: Scope, receive: Receive, send: Send) -> None:
    if scope["type"] == "websocket":
        await receive()
        await send({"type": "websocket.close", "code": TRY_AGAIN_LATER})
        return
    busy = problems.answer(problems.KINDS["overloaded"], headers={"Retry-After": "2"})
    await busy(scope, receive, send)


class LoadShedding:
    """ASGI middleware, outermost."""

    def __init__(self, app: ASGIApp, crowd: Crowd, *, secure: bool) -> None:
        """Wrap ``app``.

        Args:
            app: what is shielded.
            crowd: how much may go on at once.
            secure: whether people reach it by TLS; browsers are then told to stay with it.
        """
        self._app = app
        self._crowd = crowd
        stay = {"Strict-Transport-Security": f"max-age={YEAR}; includeSubDomains"}
        self._headers = _raw(HEADERS | (stay if secure else {}))

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request or socket, or say that there is too much to do."""
        if scope["type"] == "lifespan":
            await self._app(scope, receive, send)
            return
        kind, places = self._crowd.places_for(scope)
        whose = self._crowd.whose(scope)
        if scope["type"] == "http":
            number = secrets.token_hex(8)
            scope.setdefault("state", {})["request"] = number
            logs.begin(request=number)
            send = self._shielded(send, scope, number, rate_limit.watch())
        if places is None:
            await self._app(scope, receive, send)
        elif not places.take(whose):
            TURNED_AWAY.labels(kind).inc()
            await _turn_away(scope, receive, send)
        else:
            try:
                await self._app(scope, receive, send)
            finally:
                places.give_back(whose)

    def _shielded(self, send: Send, scope: Scope, number: str, counted: list[rate_limit.Standing]) -> Send:
        begun = time.perf_counter()

        async def sending(message: Message) -> None:
            if message["type"] == "http.response.start":
                told = [*message["headers"], (b"x-request-id", number.encode())]
                there = {name for name, _ in told}
                if scope["state"].get(
                    "framed"
                ):  # its policy says by whom; the older header knows of nobody's frames
                    there.add(b"x-frame-options")
                told += (header for header in self._headers if header[0] not in there)
                if counted:
                    told += (header for header in _raw(limits_told(counted)) if header[0] not in there)
                message["headers"] = told
                self._tell(scope, message["status"], time.perf_counter() - begun)
            await send(message)

        return sending

    @staticmethod
    def _tell(scope: Scope, status: int, seconds: float) -> None:
        """Count and log one answer."""
        method, path = scope["method"], _SECRET.sub(r"/\1/…", scope["path"])
        route = route_of(scope["path"], scope.get("path_params", {}), known="endpoint" in scope)
        _counter(method, route, status).observe(seconds)
        figures = {"route": route, "status": status, "milliseconds": round(seconds * 1000, 1)}
        log.info("%s %s %d", method, path, status, extra={"figures": figures})
