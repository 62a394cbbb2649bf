"""Answers that shrink are sent smaller to whoever takes that (RFC 9110 §8.4, §12.5.3).

Only bodies that come in one piece: streams of events and long files go out as they are. A body in a coding has an
entity tag of its own (§8.8.3.3): the plain one with the coding's name behind it. What a caller sends back in
``If-Match`` and ``If-None-Match`` is understood as the plain one; in ``If-Range`` it is not, because parts are only
given of the plain body.
"""

from __future__ import annotations

import re
import zlib
from functools import lru_cache
from threading import Lock

import brotli
from anyio import to_thread
from cachetools import LRUCache
from starlette.datastructures import Headers, MutableHeaders
from starlette.types import ASGIApp, Message, Receive, Scope, Send

SHRINK = frozenset(
    {
        "application/graphql-response+json",
        "application/json",
        "application/problem+json",
        "image/svg+xml",
        "image/vnd.dxf",
        "model/gltf-binary",
        "text/csv",
        "text/html",
        "text/javascript",
        "text/plain",
    }
)
LEAST_BYTES = 1024
"""Less is not worth a processor's time: it fits one packet anyway."""
ASIDE_BYTES = 32 * 1024
"""From here on it is done in a thread, so that nobody else waits."""
MOST_KEPT = 16 * 1024 * 1024
_BROTLI_QUALITY = 3  # 60 kB of JSON: 11.1 kB in 0.28 ms; at 4 10.6 kB in 0.44 ms, at 5 9.8 kB in 0.66 ms
_GZIP_LEVEL = 3
_GZIP = 16 + zlib.MAX_WBITS
_CODED = re.compile(rb'\.(?:br|gzip)"')
_OWN_TAG = re.compile(r'^"[^"]+"$')
_REFUSED = re.compile(r"\s*q\s*=\s*0(\.0*)?\s*", re.IGNORECASE)


@lru_cache(maxsize=256)
def coding_for(accepted: str) -> str | None:
    """The coding an ``Accept-Encoding`` takes that we have; ``None``: the plain body."""
    weights = (part.partition(";") for part in accepted.split(","))
    taken = {name.strip().lower() for name, _, weight in weights if not _REFUSED.fullmatch(weight)}
    return next((coding for coding in ("br", "gzip") if coding in taken), None)


def squeezed(body: bytes, coding: str) -> bytes:
    """The body in a coding."""
    if coding == "br":
        return bytes(brotli.compress(body, quality=_BROTLI_QUALITY))
    packer = zlib.compressobj(_GZIP_LEVEL, zlib.DEFLATED, _GZIP)
    return packer.compress(body) + packer.flush()


class Squeezing:
    """ASGI middleware: codes whole answers. What has an entity tag is coded once while it is asked for."""

    def __init__(self, app: ASGIApp) -> None:
        self._app = app
        self._kept: LRUCache[tuple[str, int, str], bytes] = LRUCache(MOST_KEPT, getsizeof=len)
        self._lock = Lock()

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer, smaller where that is taken."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        coding = coding_for(Headers(scope=scope).get("accept-encoding", ""))
        held = any(_CODED.search(value) for name, value in scope["headers"] if name == b"if-none-match")
        await self._app(_plainly(scope), receive, _Sending(self, send, coding, held=held).send)

    async def coded(self, body: bytes, tag: str, coding: str) -> bytes:
        """A body in a coding, kept by its tag where it has one."""
        key = tag, len(body), coding
        with self._lock:
            found = self._kept.get(key) if tag else None
        if found is None:
            far = len(body) > ASIDE_BYTES
            found = await to_thread.run_sync(squeezed, body, coding) if far else squeezed(body, coding)
            if tag and len(found) < MOST_KEPT // 8:
                with self._lock:
                    self._kept[key] = found
        return found


class _Sending:
    """One answer on its way: its start is held until it is known whether the body comes in one piece."""

    def __init__(self, all_answers: Squeezing, send: Send, coding: str | None, *, held: bool) -> None:
        self._all = all_answers
        self._send = send
        self._coding = coding
        self._held = held
        self._start: Message | None = None

    async def send(self, message: Message) -> None:
        """Hand a message on."""
        if message["type"] == "http.response.start" and self._shrinks(message):
            self._start = message
            return
        start, self._start = self._start, None
        if start is not None:
            whole = message["type"] == "http.response.body" and not message.get("more_body", False)
            if whole and self._coding and len(message.get("body", b"")) >= LEAST_BYTES:
                message = await self._coded(start, message, self._coding)
            await self._send(start)
        await self._send(message)

    def _shrinks(self, start: Message) -> bool:
        headers = MutableHeaders(scope=start)
        if start["status"] == 304:
            if self._held and self._coding and _OWN_TAG.match(headers.get("etag", "")):
                headers["ETag"] = _tag_in(headers["ETag"], self._coding)
            return False
        kind = headers.get("content-type", "").partition(";")[0].strip()
        if kind not in SHRINK or start["status"] == 206 or "content-encoding" in headers:
            return False
        headers.add_vary_header("Accept-Encoding")
        return True

    async def _coded(self, start: Message, message: Message, coding: str) -> Message:
        headers = MutableHeaders(scope=start)
        tag = headers.get("etag", "")
        own = tag if _OWN_TAG.match(tag) else ""
        body = await self._all.coded(message["body"], own, coding)
        headers["Content-Encoding"] = coding
        headers["Content-Length"] = str(len(body))
        if own:
            headers["ETag"] = _tag_in(tag, coding)
        return {**message, "body": body}


def _tag_in(tag: str, coding: str) -> str:
    return f'{tag[:-1]}.{coding}"'


def _plainly(scope: Scope) -> Scope:
    """The request with plain tags in its conditions."""
    if not any(name in (b"if-match", b"if-none-match") and b"." in value for name, value in scope["headers"]):
        return scope
    headers = [
        (name, _CODED.sub(b'"', value) if name in (b"if-match", b"if-none-match") else value)
        for name, value in scope["headers"]
    ]
    return {**scope, "headers": headers}
