"""What a request asks for, and who asks it: read off its headers, its address and its body, and checked."""

from __future__ import annotations

import logging
import re
from collections.abc import Mapping
from datetime import datetime
from typing import Any, get_origin

from pydantic import ValidationError
from sqlalchemy import Connection
from sqlalchemy.exc import InterfaceError, OperationalError
from starlette.requests import HTTPConnection, Request

from service import logs
from service.access.csrf import cookies_in, told
from service.access.resolve import ORDER_HEADER, Resolved, credentials_of, note_use, resolve
from service.access.signed_addresses import PARAMETER
from service.orders.actors import Actor, ShopSite, Visitor
from service.orders.errors import ConflictError, NotFoundError
from service.rest import conditional
from service.rest.meaning import meaning_of
from service.rest.operation import Call, Operation, Pipeline, Received
from service.rest.requests.base import Ask
from service.rest.validation_errors import invalid
from service.rest.whence import own_address_of
from service.store.shop import find_workshop_id
from service.usecases.commands import IdempotencyKey
from service.usecases.context import Context

LONGEST_KEY = 255
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
    actor = actor_of(operation, resolved)
    need_plain_path(request)
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


def actor_of(operation: Operation, resolved: Resolved) -> Actor:
    """Who does it: nobody where it is open to all. UnauthenticatedError, ConflictError "second-step-due"."""
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


def need_plain_path(request: Request) -> None:
    """Nothing of ours is named by anything else, and PostgreSQL would choke on a NUL. NotFoundError."""
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
