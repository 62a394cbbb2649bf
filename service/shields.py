"""What stands before both doors: request numbers, security headers, a limit on how much goes on at once."""

from __future__ import annotations

import logging
import re
import secrets
import time

from starlette.datastructures import MutableHeaders
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from service import logs
from service.metering import REQUESTS, route_of
from service.rest import problems

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
YEAR = 365 * 24 * 3600
# Links carry their secret in the path: whoever reads the log must not be able to open them.
_SECRET = re.compile(r"^/(link|password)/.+")
_METHODS = frozenset({"GET", "HEAD", "POST", "PUT", "PATCH", "DELETE", "OPTIONS"})

log = logging.getLogger("slatproof.request")


class Shields:
    """ASGI middleware, outermost."""

    def __init__(self, app: ASGIApp, at_once: int, *, secure: bool) -> None:
        """Wrap ``app``.

        Args:
            app: what is shielded.
            at_once: most requests under way; more are told to come back. Open event streams do not count.
            secure: whether people reach it by TLS; browsers are then told to stay with it.
        """
        self._app = app
        self._at_once = at_once
        self._under_way = 0
        stay = {"Strict-Transport-Security": f"max-age={YEAR}; includeSubDomains"}
        self._headers = HEADERS | (stay if secure else {})

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request, or say that there is too much to do."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        number = secrets.token_hex(8)
        scope.setdefault("state", {})["request"] = number
        logs.begin(request=number)
        shielded = self._shielded(send, scope, number)
        counts = not scope["path"].endswith("/events")
        if counts and self._under_way >= self._at_once:
            busy = problems.answer(problems.KINDS["overloaded"], headers={"Retry-After": "2"})
            await busy(scope, receive, shielded)
            return
        self._under_way += counts
        try:
            await self._app(scope, receive, shielded)
        finally:
            self._under_way -= counts

    def _shielded(self, send: Send, scope: Scope, number: str) -> Send:
        begun = time.perf_counter()

        async def sending(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                headers["X-Request-Id"] = number
                for name, value in self._headers.items():
                    headers.setdefault(name, value)
                self._tell(scope, message["status"], time.perf_counter() - begun)
            await send(message)

        return sending

    @staticmethod
    def _tell(scope: Scope, status: int, seconds: float) -> None:
        """Count and log one answer."""
        method, path = scope["method"], _SECRET.sub(r"/\1/…", scope["path"])
        route = route_of(scope["path"], scope.get("path_params", {}), known="endpoint" in scope)
        REQUESTS.labels(method if method in _METHODS else "other", route, str(status)).observe(seconds)
        figures = {"route": route, "status": status, "milliseconds": round(seconds * 1000, 1)}
        log.info("%s %s %d", method, path, status, extra={"figures": figures})
