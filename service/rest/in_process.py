"""The operations without HTTP in between: for pages, which are served by the same process.

A page's visit is understood once: who asks is resolved once, everything it reads is one view of the store, and what
belongs to one act is one transaction. Rules, limits and problems are those of the REST door, because the rows of the
same table are run in the same way (:func:`service.rest.understanding.understand`).
"""

from __future__ import annotations

import json
import sys
from collections.abc import AsyncIterator, Callable, Iterable, Iterator, Mapping
from contextlib import asynccontextmanager
from dataclasses import dataclass, field
from typing import Any, TypeVar
from urllib.parse import unquote, urlencode

from anyio import CancelScope
from pydantic_core import from_json
from starlette.requests import Request

from service.access.networks import network_of
from service.access.resolve import Resolved
from service.language.phrasebook import told
from service.orders.errors import NotFoundError
from service.rest.app import API
from service.rest.one_view import OneByOne
from service.rest.operation import Answer, Operation, Pipeline, Received
from service.rest.pipeline import LARGE_BODY, problem_of
from service.rest.raw_json import adapter, dump
from service.rest.receiving import TooLargeError
from service.rest.route_tree import AddressTree
from service.rest.table import OPERATIONS
from service.rest.understanding import need_actor, understand, who_asks, workshop_in
from service.rest.upload_limiter import TooBusyError
from service.rest.whence import own_address_of
from service.store import wall
from service.usecases import looking
from service.usecases.cache import Cache

T = TypeVar("T")
ORDER_HEADER = "Slatproof-Order"
_CATALOGUE = frozenset({"listOfferedModels", "getOfferedModel", "listModels", "getModel"})
_MOST_PARSED = 64
# What of a visitor's request an operation may know; everything else is the page's own.
PASSED_ON = ("cookie", "user-agent", "accept-language", "x-forwarded-for", "forwarded", "x-real-ip")


class CallError(Exception):
    """An operation said no.

    Attributes:
        status: HTTP status that the REST door gives.
        problem: the body as RFC 9457 has it.
    """

    def __init__(self, status: int, problem: Mapping[str, Any]) -> None:
        super().__init__(status, problem)
        self.status = status
        self.problem = problem

    @property
    def code(self) -> str:
        """The last part of the problem's type (``"not-approved"``)."""
        return str(self.problem.get("type", "")).rsplit("/", 1)[-1]

    @property
    def title(self) -> str:
        """In a few words; empty where it has none."""
        return told(str(self.problem.get("title", "")))

    @property
    def words(self) -> str:
        """What to show to the person."""
        title, detail = str(self.problem.get("title", "")), str(self.problem.get("detail", ""))
        return told(detail or title or "The service could not answer. Try again in a moment.")

    @property
    def fields(self) -> dict[str, str]:
        """What is wrong by field."""
        return {str(p["field"]): told(str(p["message"])) for p in self.problem.get("problems", ())}


@dataclass(frozen=True)
class Reply:
    """What an operation gave.

    Attributes:
        json: its body as plain values; ``None`` where it has none.
        cookies: ``Set-Cookie`` headers, to be handed on to the browser.
    """

    json: Any
    cookies: tuple[str, ...] = ()


@dataclass(frozen=True)
class Asked:
    """What a page asks of an operation.

    Attributes:
        method, path: as the reference names them, below ``/api/v1``.
        order_id: which of the visitor's orders is meant.
        bearer: the secret of a link to speak with, instead of the browser's cookies.
        query: parameters of the query; a sequence for one that is given several times.
        body: JSON values.
        file: a file, for operations that take one.
        revision: what the visitor saw (``If-Match``).
        once: an idempotency key.
    """

    method: str
    path: str
    order_id: str | None = None
    bearer: str | None = None
    query: Mapping[str, Any] = field(default_factory=dict)
    body: Any = None
    file: Received | None = None
    revision: int | None = None
    once: str | None = None


class InProcess:
    """The table of operations, for the pages of this process."""

    def __init__(self, pipeline: Pipeline, operations: Iterable[Operation] = OPERATIONS) -> None:
        self._pipeline = pipeline
        by_path: dict[str, dict[str, Operation]] = {}
        for each in operations:
            by_path.setdefault(each.path, {})[each.method] = each
        self._operations = AddressTree(by_path)
        self._catalogue: Cache[Any] = Cache(_MOST_PARSED)

    def visit(self, request: Request) -> Visit:
        """The calls of one page request; to be closed when it is answered."""
        return Visit(self._pipeline, self._find, request, self._catalogue)

    def _find(self, method: str, path: str) -> tuple[Operation, dict[str, str]]:
        by_method, given = self._operations.find(path) or ({}, {})
        if method not in by_method:
            raise NotFoundError("address")
        return by_method[method], {name: unquote(value) for name, value in given.items()}


class Visit:
    """One page request's calls, made one after another."""

    def __init__(
        self,
        pipeline: Pipeline,
        find: Callable[[str, str], tuple[Operation, dict[str, str]]],
        request: Request,
        catalogue: Cache[Any],
    ) -> None:
        self._calls = OneByOne(pipeline)
        self._pipeline, self._store = self._calls.pipeline, self._calls.store
        self._catalogue = catalogue
        self._find = find
        self._request = request
        self._known: dict[tuple[str | None, ...], Resolved] = {}

    async def call(self, asked: Asked) -> Reply:
        """Run one operation. CallError."""
        try:
            operation, path = self._find(asked.method, asked.path)
            inner = self._inner(asked, path)
            if asked.file is not None:
                limit = max(self._pipeline.upload_limit, operation.largest)
                if len(asked.file.data) > limit:
                    raise TooLargeError(limit)
                async with self._pipeline.room.place(network_of(own_address_of(self._pipeline.ctx, inner))):
                    return await self._calls.run(lambda: self._run(operation, inner, asked.file))
            body = None if operation.ask is None else json.dumps(asked.body, ensure_ascii=False).encode()
            limit = LARGE_BODY if operation.large else self._pipeline.body_limit
            if body is not None and len(body) > limit:
                raise TooLargeError(limit)
            return await self._calls.run(lambda: self._run(operation, inner, body))
        except Exception as error:  # noqa: BLE001 - as at the REST door, the one place where errors become answers
            raise _call_error(error) from None

    @asynccontextmanager
    async def act(self) -> AsyncIterator[None]:
        """The calls until the end are one act: all are kept, or, where one is refused, none. CallError."""
        acting = self._store.acting()
        await self._told(acting.__enter__)
        try:
            yield
        except BaseException:
            failed = sys.exc_info()
            with CancelScope(shield=True):  # of somebody who has gone, too
                await self._told(lambda: acting.__exit__(*failed))
            raise
        await self._told(lambda: acting.__exit__(None, None, None))

    async def know(self, order_id: str | None) -> None:
        """Before the first byte of a large body is read: whether whoever sends it may speak here. CallError."""
        try:
            inner = self._inner(Asked("GET", "/session", order_id=order_id), {})
            await self._calls.run(lambda: self._is_known(inner, order_id))
        except Exception as error:  # noqa: BLE001 - as in :meth:`call`
            raise _call_error(error) from None

    def _is_known(self, inner: Request, order_id: str | None) -> None:
        actor = need_actor(who_asks(self._pipeline.ctx, inner, None))
        if order_id is not None:
            looking.get_activity(self._pipeline.ctx, actor, order_id)

    @asynccontextmanager
    async def taking_in(self) -> AsyncIterator[None]:
        """Room for a file while its bytes are read: what nobody has room for stays with its sender. CallError."""
        await self.rest()
        try:
            async with self._pipeline.room.place(
                network_of(own_address_of(self._pipeline.ctx, self._request))
            ):
                yield
        except TooBusyError as error:
            raise _call_error(error) from None

    async def _told(self, run: Callable[[], object]) -> None:
        """Run in a thread what begins or ends an act; what goes wrong there is answered like anything else."""
        try:
            await self._calls.run(run)
        except CallError:
            raise  # it was on its way already
        except Exception as error:  # noqa: BLE001 - as in :meth:`call`
            raise _call_error(error) from None

    async def rest(self) -> None:
        """End the view of the store and make place for others: this visit now waits for something else."""
        await self._calls.rest()

    async def look_again(self) -> None:
        """Rest, and ask everything anew after it: for who waits for somebody else's work."""
        await self.rest()
        self._store.forget()

    def _run(self, operation: Operation, inner: Request, body: bytes | Received | None) -> Reply:
        asks = self._who(operation, inner)
        call = understand(operation, self._pipeline, inner, body, asks, strict=False)
        with wall.serving(call.actor.workshop_id):
            answer = operation.run(call)
        if operation.open and operation.method != "GET":
            self._known.clear()  # it may have let somebody in or out
        if not isinstance(answer, Answer):
            raise LookupError(f"{operation.name} gives a file, which a browser asks for by its address")
        cookies = tuple(value for name, value in answer.headers.items() if name.lower() == "set-cookie")
        if operation.gives is None:
            return Reply(None, cookies)
        if answer.written is not None and operation.name in _CATALOGUE:
            return Reply(self._parsed(operation.name, answer.written, answer.tag), cookies)
        return Reply(from_json(answer.written or dump(adapter(operation.gives), answer.body)), cookies)

    def _parsed(self, name: str, written: bytes, tag: str) -> Any:
        """What is written in a body of the catalogue, parsed once for all pages: none of them changes it."""
        found = self._catalogue.get((name, tag))
        if found is None:
            found = from_json(written)
            self._catalogue.put((name, tag), found)
        return found

    def _who(self, operation: Operation, inner: Request) -> Resolved:
        workshop = workshop_in(operation, inner)
        key = (inner.headers.get(ORDER_HEADER), inner.headers.get("authorization"), workshop)
        if key not in self._known:
            self._known[key] = who_asks(self._pipeline.ctx, inner, workshop)
        return self._known[key]

    def _inner(self, asked: Asked, path: Mapping[str, str]) -> Request:
        headers = dict(self._headers(asked))
        return Request(
            {
                **{name: self._request.scope.get(name) for name in ("scheme", "server", "client")},
                "state": self._request.scope.get("state") or {},
                "type": "http",
                "method": asked.method,
                "path": API + asked.path,
                "path_params": dict(path),
                "query_string": urlencode(asked.query, doseq=True).encode(),
                "headers": [
                    (name.lower().encode("latin-1"), v.encode("latin-1")) for name, v in headers.items()
                ],
            }
        )

    def _headers(self, asked: Asked) -> Iterator[tuple[str, str]]:
        sent = self._request.headers
        yield "host", sent.get("host", "localhost")
        for name in PASSED_ON:
            if name in sent and not (name == "cookie" and asked.bearer):
                yield name, sent[name]
        if asked.bearer:
            yield "Authorization", f"Bearer {_in_a_header(asked.bearer)}"
        if asked.order_id is not None:
            yield ORDER_HEADER, asked.order_id
        if asked.revision is not None:
            yield "If-Match", f'"{asked.revision}"'
        if asked.once:
            yield "Idempotency-Key", _in_a_header(asked.once)


def _in_a_header(text: str) -> str:
    """What a form sent, which may be any text, as the octets of a header are read."""
    return text.encode().decode("latin-1")


def _call_error(error: Exception) -> CallError:
    answer = problem_of(error)
    return CallError(answer.status_code, from_json(bytes(answer.body) or b"{}"))
