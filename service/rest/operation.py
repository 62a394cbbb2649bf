"""One operation of the REST door: a row of the table that routes, documents and tests are made from."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from typing import Any, Generic, TypeVar, get_args, get_type_hints

from anyio import CapacityLimiter
from starlette.requests import Request

from service.access.resolve import Resolved
from service.orders.actors import Actor
from service.rest.deprecation import Deprecated
from service.rest.order_cache import OrderCache
from service.rest.requests.base import Ask
from service.rest.upload_limiter import UploadLimiter
from service.store.bells import Bells
from service.usecases.answers import BlobFile
from service.usecases.commands import IdempotencyKey
from service.usecases.context import Context

B_co = TypeVar("B_co", covariant=True)
FILES = 16
"""More than are let through to the store at once: those beyond are told at once where it does not answer."""


@dataclass(frozen=True)
class Call:
    """One request, checked and understood.

    Attributes:
        actor: who asks; for open operations, the visitor of no workshop where nobody is known.
        path: path parameters.
        query: the query, as its model; ``None`` where the operation takes none.
        ask: the body, as its model; ``None`` where the operation takes none.
        upload: the file, where the operation takes one.
        revision: what ``If-Match`` names, where the operation needs it.
        once: the idempotency key, where one was sent.
        kept: bodies of orders as last given.
    """

    ctx: Context
    actor: Actor
    resolved: Resolved
    request: Request
    path: Mapping[str, str]
    query: Any = None
    ask: Any = None
    upload: Received | None = None
    revision: int = 0
    once: IdempotencyKey | None = None
    kept: OrderCache = field(default_factory=OrderCache)


@dataclass(frozen=True)
class Received:
    """A file as it came in."""

    data: bytes
    name: str
    content_type: str
    fields: Mapping[str, tuple[str, ...]] = field(default_factory=dict)


@dataclass(frozen=True)
class Pipeline:
    """What every operation is served with.

    Attributes:
        ctx: what use cases need.
        threads: how many requests are worked on at once.
        body_limit: largest JSON body, bytes.
        upload_limit: largest file, bytes.
        files: how many files are looked up and read for answers at once.
        bells: ring for what happens in the database.
        room: for uploads that are taken in at once.
        kept: bodies of orders as last given.
        at_hand: whether the store can be looked into at once, without waiting for a connection or another machine.
    """

    ctx: Context
    threads: CapacityLimiter
    body_limit: int = 64 * 1024
    upload_limit: int = 10 * 1024 * 1024
    files: CapacityLimiter = field(default_factory=lambda: CapacityLimiter(FILES))
    bells: Bells = field(default_factory=Bells)
    room: UploadLimiter = field(default_factory=lambda: UploadLimiter(8))
    kept: OrderCache = field(default_factory=OrderCache)
    at_hand: Callable[[], bool] = field(default=lambda: False)


@dataclass(frozen=True)
class Answer(Generic[B_co]):
    """A JSON answer, whose type says what the operation gives.

    Attributes:
        body: a value of the type the operation gives.
        written: the body as JSON already; of ``body`` then only ``next`` is looked at.
        revision: of what the body shows, for its entity tag; ``None`` for things without one.
        location: address of what was made.
        tag: entity tag of what is written already; worked out where it is empty.
        of: whose revision that is (``"order fslm…"``), where the address does not say it.
        headers: anything else.
    """

    body: B_co | None = None
    revision: int | None = None
    written: bytes | None = field(default=None, kw_only=True)
    location: str | None = None
    of: str | None = field(default=None, kw_only=True)
    tag: str = field(default="", kw_only=True)
    headers: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True)
class Bytes:
    """Bytes made on the spot, served like a file; ``lasting``: that address never gives other bytes."""

    data: bytes
    content_type: str
    name: str
    lasting: bool = False


Handler = Callable[[Call], Answer[Any] | BlobFile | Bytes]


def gives_of(handler: Any) -> Any:
    """The type of the JSON body that a handler gives, as it says itself; ``None`` for none."""
    if hasattr(handler, "gives"):
        return handler.gives
    given = get_args(get_type_hints(handler).get("return"))
    return given[0] if given and given[0] is not type(None) else None


@dataclass(frozen=True)
class FormField:
    """A field beside the file of a form; with a raw body it is sent in the address."""

    words: str
    required: bool = False


@dataclass(frozen=True)
class Operation:
    """One row of the table. What its handler says itself, a row does not say again.

    Attributes:
        route: method and path, as Starlette routes them, below ``/api/v1``.
        name: stable identifier (OpenAPI's operationId).
        does: one sentence in the imperative.
        run: the handler; runs in a thread.
        at_hand: its answer where all of it is known already, ``None`` where not; so quick that it needs no thread.
        query, ask: models of the query and of the JSON body.
        status: on success.
        file: content types of a file answer.
        takes_file: the body is a file (raw, or a multipart form with it).
        fields: of the form beside the file, by name.
        largest: of the file, bytes, where it may be larger than artwork.
        once: takes ``Idempotency-Key``; so does what :class:`service.rest.use.Does` calls with one.
        public: a visitor of the workshop in the path may call it.
        open: needs nobody at all (signing in); ``Call.actor`` is then a visitor of no workshop.
        unready: may be called before a second step that is asked of everybody is set up.
        graph: the same as a mutation: ``""`` with the body's fields as arguments, otherwise the name of the one
            argument that holds the body; ``None`` for none.
        large: takes whole drawings as JSON, so more than other bodies may hold.
        problems: codes of the problems it may answer with, besides those every operation may.
        more: what the references of both doors say beyond ``does``.
        at_rest: what else that of the REST door says.
        deprecated: where it is on its way out.
        tag: which group of the reference it is in.
        gives: type of the JSON answer, ``None`` for no content or a file.
        conditional: needs ``If-Match``.
    """

    route: str
    name: str
    does: str
    run: Handler
    query: type[Ask] | None = None
    ask: type[Ask] | None = None
    status: int = 200
    file: tuple[str, ...] = ()
    takes_file: bool = False
    fields: Mapping[str, FormField] = field(default_factory=dict)
    largest: int = 0
    once: bool = False
    public: bool = False
    open: bool = False
    unready: bool = False
    large: bool = False
    graph: str | None = None
    problems: tuple[str, ...] = ()
    more: str = ""
    at_rest: str = ""
    deprecated: Deprecated | None = None
    at_hand: Callable[[Call], Answer[Any] | None] | None = None
    tag: str = ""
    gives: Any = field(init=False)
    conditional: bool = field(init=False)

    def __post_init__(self) -> None:
        """Take from the handler what it says."""
        told = {
            "gives": gives_of(self.run),
            "conditional": getattr(self.run, "conditional", False),
            "once": self.once or getattr(self.run, "once", False),
        }
        for name, value in told.items():
            object.__setattr__(self, name, value)

    @property
    def method(self) -> str:
        """Of HTTP."""
        return self.route.partition(" ")[0]

    @property
    def path(self) -> str:
        """Below ``/api/v1``."""
        return self.route.partition(" ")[2]


def tagged(tag: str, *rows: Operation) -> tuple[Operation, ...]:
    """Rows that are in one group of the reference."""
    return tuple(replace(row, tag=tag) for row in rows)
