"""Files: parts of them, conditional requests, and no way for a stranger's bytes to act in a browser."""

from __future__ import annotations

import re
from urllib.parse import quote

from anyio import CapacityLimiter, move_on_after, to_thread
from starlette.datastructures import Headers
from starlette.requests import Request
from starlette.responses import Response, StreamingResponse

from service.rest import problems
from service.rest.conditional import NoSuchRangeError, Span, body_tag, span_of, unchanged
from service.rest.operation import Bytes
from service.store.blobs import CHUNK, BlobMissingError, Blobs, BlobsAwayError, pieces
from service.usecases.answers import BlobFile

SANDBOX = (
    "default-src 'none'; object-src 'none'; base-uri 'none'; frame-ancestors 'none'; form-action 'none'; "
    "style-src 'unsafe-inline'; sandbox"
)
# Content-addressed, so it never changes; private, because caches in between must not share it.
KEEP = "private, max-age=31536000, immutable"
# The sender's word for a type is repeated only where it is one of these.
HARMLESS = frozenset(
    {"image/png", "image/jpeg", "image/svg+xml", "image/heic", "application/pdf", "image/vnd.dxf"}
)
_LONGEST_WAIT = 3.0  # seconds for a thread, while others wait for files that do not come
_PLAIN = re.compile(r"[^A-Za-z0-9 ._()-]")


def unless_had(request: Request, data: bytes, kind: str, cache: str) -> Response:
    """What is the same for everybody, sent to whoever does not have it yet; ``cache``: how it may be kept."""
    headers = {"Cache-Control": cache, "ETag": body_tag(data)}
    if unchanged(request.headers.get("if-none-match"), headers["ETag"]):
        return Response(None, 304, headers=headers)
    return Response(data, headers=headers, media_type=kind)


async def serve_blob(blobs: Blobs, file: BlobFile, headers: Headers, files: CapacityLimiter) -> Response:
    """A stored file, whole or in part, read in threads of its own. BlobMissingError, BlobsAwayError."""
    holder = object()
    with move_on_after(_LONGEST_WAIT) as waiting:
        await files.acquire_on_behalf_of(holder)
    if waiting.cancelled_caught:
        raise BlobsAwayError("too many wait for files")
    try:
        return await to_thread.run_sync(_serve, blobs, file, headers, limiter=CapacityLimiter(1))
    finally:
        files.release_on_behalf_of(holder)


def _serve(blobs: Blobs, file: BlobFile, headers: Headers) -> Response:
    size = blobs.size(file.digest)
    if size is None:
        raise BlobMissingError(file.digest)
    shared = _headers(file.name, f'"{file.digest}"', attachment=file.original)
    if unchanged(headers.get("if-none-match"), shared["ETag"]):
        return Response(None, 304, headers=shared)
    try:
        span = span_of(headers.get("range"), size, headers.get("if-range"), shared["ETag"])
    except NoSuchRangeError:
        return problems.answer(
            problems.KINDS["range-not-satisfiable"], headers={"Content-Range": f"bytes */{size}"}
        )
    whole = Span(0, size)
    part = span or whole
    if span:
        shared["Content-Range"] = f"bytes {span.start}-{span.stop - 1}/{size}"
    shared["Content-Length"] = str(part.stop - part.start)
    status = 206 if span else 200
    kind = (
        file.content_type
        if not file.original or file.content_type in HARMLESS
        else "application/octet-stream"
    )
    if part.stop - part.start <= CHUNK * 8 and not span:
        return Response(blobs.get(file.digest), status, headers=shared, media_type=kind)
    return StreamingResponse(pieces(blobs, file.digest, part.start, part.stop), status, shared, kind)


def serve_bytes(made: Bytes, headers: Headers) -> Response:
    """Bytes made on the spot, with the same care."""
    shared = _headers(made.name, body_tag(made.data), attachment=True)
    shared["Accept-Ranges"] = "none"  # made anew each time: a part would cost as much as the whole
    if not made.lasting:
        shared["Cache-Control"] = "private, no-cache"
    if unchanged(headers.get("if-none-match"), shared["ETag"]):
        return Response(None, 304, headers=shared)
    return Response(made.data, 200, headers=shared, media_type=made.content_type)


def _headers(name: str, tag: str, *, attachment: bool) -> dict[str, str]:
    return {
        "ETag": tag,
        "Accept-Ranges": "bytes",
        "Cache-Control": KEEP,
        "Vary": "Cookie, Authorization",
        "Content-Disposition": disposition(name, attachment=attachment),
        "X-Content-Type-Options": "nosniff",
        "Content-Security-Policy": SANDBOX,
        "Cross-Origin-Resource-Policy": "same-origin",
    }


def disposition(name: str, *, attachment: bool) -> str:
    """``Content-Disposition`` for a name that anyone may have chosen (RFC 6266, RFC 8187)."""
    kind = "attachment" if attachment else "inline"
    plain = _PLAIN.sub("_", name) or "file"
    return f"{kind}; filename=\"{plain}\"; filename*=UTF-8''{quote(name or 'file', safe='')}"
