"""From a request to an answer: one pipeline for every operation.

Reading the body is asynchronous; everything else of a request runs in one thread: who asks, whether what
they sent makes sense, the use case, and the JSON.
"""

from __future__ import annotations

import logging
import re
from collections.abc import Awaitable, Callable, Mapping
from datetime import datetime
from typing import Any, get_origin

from pydantic import ValidationError
from sqlalchemy import Connection
from sqlalchemy.exc import InterfaceError, OperationalError
from starlette.requests import HTTPConnection, Request
from starlette.responses import Response

from service import logs
from service.access.csrf import cookies_in, told
from service.access.networks import network_of
from service.access.resolve import ORDER_HEADER, Means, Resolved, credentials_of, note_use, resolve
from service.access.signed_addresses import PARAMETER
from service.orders.actors import Actor, ShopSite, Visitor
from service.orders.errors import ConflictError, DomainError, NotFoundError
from service.rest import conditional, problems, receiving
from service.rest.files import serve_blob, serve_bytes
from service.rest.in_thread import in_thread
from service.rest.meaning import meaning_of
from service.rest.one_view import one_view, sharing
from service.rest.operation import Answer, Bytes, Call, Operation, Pipeline, Received
from service.rest.raw_json import adapter, dump
from service.rest.requests.base import Ask
from service.rest.upload_limiter import TooBusyError
from service.rest.validation_errors import invalid
from service.rest.whence import own_address_of
from service.store import wall
from service.store.blobs import BlobDamagedError, BlobMissingError, BlobsAwayError
from service.store.shop import find_workshop_id
from service.usecases import looking, signed_addresses
from service.usecases.answers import BlobFile
from service.usecases.commands import IdempotencyKey
from service.usecases.context import Context

Endpoint = Callable[[Request], Awaitable[Response]]
LONGEST_KEY = 255
LARGE_BODY = 2 * 1024 * 1024
"""Of an operation that takes whole drawings as JSON."""
_NAME = re.compile(r"[A-Za-z0-9._:~-]{1,200}")
_TAGGED = ("carving", "model", "bit", "order")
"""Parts of an address that name what has a revision of its own, the innermost first."""
_SETTINGS = ("settings/machine", "settings/prices", "settings")
_COUNTED = "slatproof_counted"
_WHO = frozenset({b"authorization", b"cookie", ORDER_HEADER.encode()})
NOBODY = Visitor(workshop_id="")
log = logging.getLogger("slatproof.rest")


class UnauthenticatedError(Exception):
    """Nobody is signed in, or what was sent opens nothing."""


class BadRequestError(Exception):
    """A header is not well formed."""


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
    actor = _actor(operation, _resolved(operation, pipeline, request))
    _plain_path(request)
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


def workshop_in(operation: Operation, request: Request) -> str | None:
    """Key of the workshop at whose public door a request came in."""
    return request.path_params.get("workshop") if operation.public else None


def understand(
    operation: Operation,
    pipeline: Pipeline,
    request: Request,
    body: bytes | Received | None,
    resolved: Resolved,
    *,
    strict: bool = True,
) -> Call:
    """What somebody asks for, checked; ``strict``: a text is no number and no yes, as JSON can say both itself.

    UnauthenticatedError, BadRequestError, ConflictError, InvalidError, NotFoundError.
    """
    actor = _actor(operation, resolved)
    _plain_path(request)
    if "order" in request.path_params:
        logs.note(order=request.path_params["order"])
    ask = _ask(operation, body, strict=strict) if isinstance(body, bytes) else None
    return Call(
        ctx=pipeline.ctx,
        kept=pipeline.kept,
        actor=actor,
        resolved=resolved,
        request=request,
        path=request.path_params,
        query=_query(operation, request),
        ask=ask,
        upload=body if isinstance(body, Received) else None,
        revision=conditional.expected_revision(
            request.headers.get("if-match"), named_by(operation.path, request.path_params)
        )
        if operation.conditional
        else 0,
        once=_once(operation, request, ask if ask is not None else body) if operation.once else None,
    )


def named_by(path: str, given: Mapping[str, str]) -> str | None:
    """The resource that an address is about, for entity tags; ``None`` where it says only what is part of it."""
    for name in _TAGGED:
        if name in given:
            return f"{name} {given[name]}"
    return None if "suite" in given else next((part for part in _SETTINGS if part in path), None)


def _actor(operation: Operation, resolved: Resolved) -> Actor:
    if operation.unready and resolved.unready is not None:
        return resolved.unready
    if operation.open and resolved.actor is None:
        return NOBODY
    return need_actor(resolved)


def need_actor(resolved: Resolved) -> Actor:
    """Who asks. UnauthenticatedError, ConflictError "second-step-due"."""
    if resolved.unready is not None:
        raise ConflictError(
            "second-step-due", "Set up your second step first: here it is asked of everybody."
        )
    if resolved.actor is None:
        raise UnauthenticatedError
    return resolved.actor


def who_asks(
    ctx: Context,
    request: HTTPConnection,
    workshop_key: str | None,
    bearer: str | None = None,
    *,
    note: bool = True,
) -> Resolved:
    """Who a request or socket comes from; a visitor only where it names a workshop. Raises TooManyError.

    Args:
        ctx: what use cases need.
        request: what came in.
        workshop_key: of the workshop at whose public door it came in. Raises NotFoundError for an unknown one.
        bearer: an ``Authorization`` value that came another way than as a header.
        note: write when they were last seen, where that is due.
    """
    headers = told(request.scope, _WHO)
    if bearer:
        headers["authorization"] = bearer
    address = own_address_of(ctx, request)
    credentials = credentials_of(headers, cookies_in(headers.get("cookie", "")), address)
    now = ctx.clock.now()
    with ctx.store.reading() as connection:
        place = None if workshop_key is None else _workshop_of(connection, workshop_key)
        resolved = resolve(connection, credentials, now, place, second_step=ctx.second_step_required)
    if place and resolved.actor and resolved.actor.workshop_id != place:
        raise NotFoundError("workshop")
    if isinstance(resolved.actor, ShopSite):
        _count(ctx, request, resolved.actor, now)
    if note and resolved.unwritten:
        _note_use(ctx, resolved, now)
    return resolved


def _workshop_of(connection: Connection, key: str) -> str:
    found = find_workshop_id(connection, key)
    if found is None:
        raise NotFoundError("workshop")
    return found


def _count(ctx: Context, request: HTTPConnection, site: ShopSite, now: datetime) -> None:
    """One request, however often it is looked up whose it is. TooManyError."""
    state = request.scope.setdefault("state", {})
    if not state.get(_COUNTED):
        state[_COUNTED] = True
        ctx.requests.take(site.token_id, now)


def _note_use(ctx: Context, resolved: Resolved, now: datetime) -> None:
    """Write 'last seen', where that can be done: nobody is shut out for a full disk or a database that is busy."""
    try:
        with ctx.store.writing() as connection:
            note_use(connection, resolved, now)
    except (OperationalError, InterfaceError) as trouble:
        log.warning("when somebody was last seen is not written: %s", type(trouble).__name__)


def _plain_path(request: Request) -> None:
    """Nothing of ours is named by anything else, and PostgreSQL would choke on a NUL."""
    for name, value in request.path_params.items():
        if not _NAME.fullmatch(str(value)):
            raise NotFoundError(name)


def _query(operation: Operation, request: Request) -> Any:
    if operation.query is None:
        return None
    fields = operation.query.model_fields.items()
    lists = {name for name, field in fields if get_origin(field.annotation) is tuple}
    given: dict[str, Any] = {
        key: request.query_params.getlist(key) if key in lists else request.query_params[key]
        for key in request.query_params
        if key != PARAMETER
    }
    try:
        return operation.query.model_validate(given)
    except ValidationError as error:
        raise invalid(error) from None


def _ask(operation: Operation, body: bytes, *, strict: bool) -> Any:
    assert operation.ask is not None  # noqa: S101 - only read where there is a model
    try:
        return operation.ask.model_validate_json(body, strict=strict)
    except ValidationError as error:
        if error.errors()[0]["type"] == "json_invalid":
            raise BadRequestError(f"The body is not JSON: {error.errors()[0]['ctx']['error']}.") from None
        raise invalid(error) from None


def _once(
    operation: Operation, request: Request, asked: Ask | Received | bytes | None
) -> IdempotencyKey | None:
    key = request.headers.get("idempotency-key")
    if key is None:
        return None
    if not key.strip() or len(key) > LONGEST_KEY:
        raise BadRequestError(f"Idempotency-Key must have 1 to {LONGEST_KEY} characters.")
    return IdempotencyKey(key, meaning_of(operation.name, request.path_params, asked))


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
