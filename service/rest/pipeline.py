"""From a request to an answer: one pipeline for every operation.

Reading the body is asynchronous; everything else of a request runs in one thread: who asks, whether what
they sent makes sense, the use case, and the JSON.
"""

from __future__ import annotations

import logging
from collections.abc import Awaitable, Callable
from typing import Any

from sqlalchemy.exc import InterfaceError, OperationalError
from starlette.requests import Request
from starlette.responses import Response

from service.access.networks import network_of
from service.access.resolve import Means, Resolved
from service.access.signed_addresses import PARAMETER
from service.orders.errors import DomainError
from service.rest import conditional, problems, receiving
from service.rest.files import serve_blob, serve_bytes
from service.rest.in_thread import in_thread
from service.rest.one_view import one_view, sharing
from service.rest.operation import Answer, Bytes, Call, Operation, Pipeline, Received
from service.rest.raw_json import adapter, dump
from service.rest.understanding import (
    BadRequestError,
    UnauthenticatedError,
    actor_of,
    named_by,
    need_plain_path,
    understand,
    who_asks,
    workshop_in,
)
from service.rest.upload_limiter import TooBusyError
from service.rest.whence import own_address_of
from service.store import wall
from service.store.blobs import BlobDamagedError, BlobMissingError, BlobsAwayError
from service.usecases import looking, signed_addresses
from service.usecases.answers import BlobFile

Endpoint = Callable[[Request], Awaitable[Response]]
LARGE_BODY = 2 * 1024 * 1024
"""Of an operation that takes whole drawings as JSON."""
log = logging.getLogger("slatproof.rest")


def endpoint(operation: Operation, pipeline: Pipeline) -> Endpoint:
    """The ASGI endpoint of one operation."""
    glance = _glancing(operation, pipeline, operation.at_hand) if operation.at_hand else None

    async def respond(request: Request) -> Response:
        answered = await answer(request)
        if operation.deprecated is not None:
            answered.headers.update(operation.deprecated.headers)
            links = (answered.headers.get("link", ""), *operation.deprecated.links(request.path_params))
            answered.headers["Link"] = ", ".join(filter(None, links))
        return answered

    async def answer(request: Request) -> Response:
        try:
            if glance is not None and pipeline.at_hand() and (ready := glance(request)) is not None:
                return ready
            body: bytes | Received | None = None
            if operation.takes_file or operation.large:
                # before the first byte of a large body: strangers' bytes are not taken in
                await in_thread(pipeline.threads, lambda: _known(operation, pipeline, request))
            if operation.takes_file:
                whose = (
                    request.path_params.get("order", ""),
                    network_of(own_address_of(pipeline.ctx, request)),
                )
                async with pipeline.room.place(*whose):
                    body = await receiving.read_file(request, max(pipeline.upload_limit, operation.largest))
                    return await _work(operation, pipeline, request, body)
            if operation.ask is not None:
                limit = LARGE_BODY if operation.large else pipeline.body_limit
                body = await receiving.read_json(request, limit)
            return await _work(operation, pipeline, request, body)
        except Exception as error:  # noqa: BLE001 - the one place where errors become answers
            return problem_of(error)

    return respond


def _glancing(
    operation: Operation, pipeline: Pipeline, at_hand: Callable[[Call], Answer[Any] | None]
) -> Callable[[Request], Response | None]:
    """Answers at once, in the thread that serves all, what takes less than handing it to another thread would.

    ``None`` where anything has to be written or worked out.
    """
    viewing, store = sharing(pipeline)

    def glance(request: Request) -> Response | None:
        try:
            resolved = who_asks(viewing.ctx, request, workshop_in(operation, request), note=False)
            if resolved.unwritten:
                return None
            call = understand(operation, viewing, request, None, resolved)
            with wall.serving(call.actor.workshop_id):
                answer = at_hand(call)
            return None if answer is None else _json(operation, answer, request, again=False)
        finally:
            store.forget()

    return glance


def _known(operation: Operation, pipeline: Pipeline, request: Request) -> None:
    """Whether whoever sends a large body may speak of what it is for.

    UnauthenticatedError, ConflictError, NotFoundError.
    """
    actor = actor_of(operation, _resolved(operation, pipeline, request))
    need_plain_path(request)
    if "order" in request.path_params:
        looking.get_activity(pipeline.ctx, actor, request.path_params["order"])


def _resolved(operation: Operation, pipeline: Pipeline, request: Request) -> Resolved:
    if operation.file and (signed := request.query_params.get(PARAMETER)):
        address = f"{request.url.path}?{request.url.query}"
        return Resolved(signed_addresses.opened_by(pipeline.ctx, address, signed), Means.HEADER)
    return who_asks(pipeline.ctx, request, workshop_in(operation, request))


async def _work(
    operation: Operation, pipeline: Pipeline, request: Request, body: bytes | Received | None
) -> Response:
    done = await in_thread(pipeline.threads, lambda: _respond(operation, pipeline, request, body))
    if isinstance(
        done, BlobFile
    ):  # read beside everything else: a store that hangs holds up nothing but files
        done = await serve_blob(pipeline.ctx.blobs, done, request.headers, pipeline.files)
    if operation.file and PARAMETER in request.query_params:
        done.headers["Cross-Origin-Resource-Policy"] = "cross-origin"
    return done


def problem_of(error: Exception) -> Response:  # noqa: PLR0911 - one return a row
    """The answer to any error; what nobody foresaw is logged and answered without its text."""
    kinds = problems.KINDS
    match error:
        case DomainError():
            return problems.refused(error)
        case UnauthenticatedError():
            challenge = {"WWW-Authenticate": 'Bearer realm="slatproof"'}
            return problems.answer(kinds["unauthenticated"], headers=challenge)
        case BadRequestError() | receiving.UnreadableError() | conditional.BadPreconditionError():
            return problems.answer(kinds["bad-request"], str(error))
        case receiving.WrongTypeError():
            return problems.answer(kinds["unsupported-type"], f"Send {error}.")
        case receiving.TooLargeError():
            return problems.answer(kinds["too-large"], f"At most {error.told} are taken here.")
        case conditional.NoPreconditionError():
            return problems.answer(kinds["precondition-required"])
        case BlobMissingError():
            return problems.answer(kinds["not-found"])
        case TooBusyError():
            return problems.answer(kinds["overloaded"], headers={"Retry-After": "3"})
        case BlobsAwayError():
            log.warning("files are away: %s", error)
            return problems.answer(kinds["files-away"], headers={"Retry-After": "5"})
        case OperationalError() | InterfaceError():
            log.warning("database away: %s", type(error).__name__, exc_info=error)
            return problems.answer(kinds["overloaded"], headers={"Retry-After": "5"})
        case BlobDamagedError():
            log.error("damaged file", exc_info=error)
            return problems.answer(kinds["fault"])
    log.error("unforeseen error", exc_info=error)
    return problems.answer(kinds["fault"])


def _respond(
    operation: Operation, pipeline: Pipeline, request: Request, body: bytes | Received | None
) -> Response | BlobFile:
    if operation.method == "GET":
        with one_view(pipeline) as viewing:
            return _answered(operation, viewing, request, body)
    return _answered(operation, pipeline, request, body)


def _answered(
    operation: Operation, pipeline: Pipeline, request: Request, body: bytes | Received | None
) -> Response | BlobFile:
    resolved = _resolved(operation, pipeline, request)
    call = understand(operation, pipeline, request, body, resolved)
    with wall.serving(call.actor.workshop_id):
        answer = operation.run(call)
    if isinstance(answer, BlobFile):
        return answer
    if isinstance(answer, Bytes):
        return serve_bytes(answer, request.headers)
    again = call.once is not None and call.once.replay.happened
    return _json(operation, answer, request, again=again)


def _tag(operation: Operation, answer: Answer[Any], request: Request, body: bytes) -> str:
    if answer.revision is None:
        return conditional.body_tag(body)
    of = answer.of or named_by(operation.path, request.path_params) or ""
    return conditional.revision_tag(answer.revision, body, of)


def _json(operation: Operation, answer: Answer[Any], request: Request, *, again: bool) -> Response:
    headers = {"Cache-Control": "private, no-cache", "Vary": "Cookie, Authorization"} | dict(answer.headers)
    if again:
        headers["Idempotency-Replayed"] = "true"
    if answer.location:
        headers["Location"] = answer.location
    if (following := getattr(answer.body, "next", None)) is not None:
        page = request.url.include_query_params(after=following)
        headers["Link"] = f'<{page.path}?{page.query}>; rel="next"'
    if operation.gives is None:
        return Response(None, operation.status, headers=headers)
    body = answer.written or dump(adapter(operation.gives), answer.body)
    tag = answer.tag or _tag(operation, answer, request, body)
    if operation.method == "GET" or answer.revision is not None:
        headers["ETag"] = tag
    if operation.method == "GET" and conditional.unchanged(request.headers.get("if-none-match"), tag):
        return Response(None, 304, headers=headers)
    return Response(body, operation.status, headers=headers, media_type="application/json")
