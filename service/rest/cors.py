"""Calls from browsers on a shop's own site (WHATWG Fetch, 'CORS protocol').

Cookies never count there: what a page of another origin may do is what its bearer token or its client's link may.
"""

from __future__ import annotations

from collections.abc import Callable

from anyio import CapacityLimiter, to_thread
from cachetools import TTLCache
from starlette.datastructures import Headers, MutableHeaders
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from service.rest.headers import HEADERS

DOORS = ("/api/v1/", "/graphql")
"""Beginnings of the addresses that may be called from elsewhere."""
ANSWER_SECONDS = 10.0
"""For so long an answer about an origin is kept: a token that is revoked is refused at once all the same."""
PREFLIGHT_SECONDS = 600
_METHODS = "GET, POST, PUT, PATCH, DELETE"
_TAKEN = (
    "Authorization, Content-Type, Content-Disposition, If-Match, If-None-Match, If-Range, Range, Idempotency-Key, "
    "Last-Event-ID, Tus-Resumable, Upload-Length, Upload-Metadata, Upload-Offset, X-HTTP-Method-Override"
)
_SHOWN = ", ".join(sorted(HEADERS))
Allows = Callable[[str, str | None], bool]


class Cors:
    """ASGI middleware around both doors: lets pages of origins that a token names read the answers."""

    def __init__(self, app: ASGIApp, allows: Allows, threads: CapacityLimiter) -> None:
        """Wrap ``app``.

        Args:
            app: what is called.
            allows: whether an origin may call, with this bearer value (``None``: without).
            threads: in which that is looked up.
        """
        self._app = app
        self._allows = allows
        self._threads = threads
        self._known: TTLCache[tuple[str, str | None], bool] = TTLCache(1000, ANSWER_SECONDS)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer a preflight, or say on the answer who may read it."""
        if scope["type"] != "http" or not scope["path"].startswith(DOORS):
            await self._app(scope, receive, send)
            return
        headers = Headers(scope=scope)
        origin = headers.get("origin")
        if origin is None or headers.get("sec-fetch-site") == "same-origin":
            await self._app(scope, receive, send)
            return
        bearer = headers.get("authorization", "").partition(" ")[2].strip() or None
        allowed = await self._is_allowed(origin, bearer)
        if scope["method"] == "OPTIONS" and "access-control-request-method" in headers:
            await _preflight(send, origin if allowed else None)
        elif allowed:
            await self._app(scope, receive, _shown_to(send, origin))
        else:
            await self._app(scope, receive, send)

    async def _is_allowed(self, origin: str, bearer: str | None) -> bool:
        if (origin, bearer) not in self._known:
            found = await to_thread.run_sync(self._allows, origin, bearer, limiter=self._threads)
            self._known[origin, bearer] = found
        return self._known.get((origin, bearer), False)


async def _preflight(send: Send, origin: str | None) -> None:
    headers = [(b"vary", b"Origin, Access-Control-Request-Method, Access-Control-Request-Headers")]
    if origin is not None:
        headers += [
            (b"access-control-allow-origin", origin.encode("latin-1")),
            (b"access-control-allow-methods", _METHODS.encode()),
            (b"access-control-allow-headers", _TAKEN.encode()),
            (b"access-control-max-age", str(PREFLIGHT_SECONDS).encode()),
        ]
    await send({"type": "http.response.start", "status": 204, "headers": headers})
    await send({"type": "http.response.body", "body": b""})


def _shown_to(send: Send, origin: str) -> Send:
    async def sending(message: Message) -> None:
        if message["type"] == "http.response.start":
            headers = MutableHeaders(scope=message)
            headers["Access-Control-Allow-Origin"] = origin
            headers["Access-Control-Expose-Headers"] = _SHOWN
            headers["Cross-Origin-Resource-Policy"] = "cross-origin"
            headers.add_vary_header("Origin")
        await send(message)

    return sending
