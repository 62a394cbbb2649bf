"""What a GraphQL request carries: who asks, and one loader per kind of thing."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property, partial
from typing import Any, Concatenate, ParamSpec, TypeVar

import strawberry
from anyio import CancelScope
from graphql import GraphQLError
from starlette.requests import HTTPConnection
from strawberry.dataloader import DataLoader

from service.access.resolve import Resolved
from service.language.phrasebook import told
from service.orders.actors import Actor
from service.orders.errors import ConflictError, DomainError, TooManyError
from service.rest.in_thread import in_thread
from service.rest.one_view import OneByOne, one_view
from service.rest.operation import Pipeline
from service.rest.understanding import UnauthenticatedError, need_actor, who_asks
from service.store.wall import within
from service.usecases import looking, marking
from service.usecases.answers import OrderAggregate
from service.usecases.context import Context

P = ParamSpec("P")
T = TypeVar("T")
Load = Callable[[Context, Actor, Sequence[str]], list[Any]]


class ApiError(GraphQLError):
    """An answer other than yes where a field has no outcome type for it."""

    def __init__(self, code: str, message: str) -> None:
        super().__init__(told(message), extensions={"code": code})


@dataclass
class Graph:
    """The context of one request or socket.

    Attributes:
        loaders: place in the query (its node's id) → loader that has what is asked for there.
        connection_params: what a socket sent when it began; ``authorization`` in it is taken like the header.
        looks: the looks of one query over HTTP, which see one view of the store; elsewhere each sees its own.
        placed_with: secret of the link of the order that this very request placed: to a visitor its answer is a
            client's.
    """

    pipeline: Pipeline
    connection: HTTPConnection
    connection_params: dict[str, Any] | None = None
    looks: OneByOne | None = None
    placed_with: str | None = None
    _resolved: dict[str | None, Resolved] = field(default_factory=dict)
    _ready: dict[str, dict[str, Any]] = field(default_factory=dict)
    loaders: dict[int, str] = field(default_factory=dict)

    async def actor(self, workshop: str | None = None) -> Actor:
        """Who asks; a visitor of ``workshop`` (its public key) where one is named and nobody is known.

        Raises:
            ApiError: nobody is known, or their second step is not set up.
            NotFound: there is no such workshop.
        """
        if workshop in self._resolved and self.placed_with is None:
            return self._who(self.pipeline.ctx, workshop)
        return await self.in_thread(lambda ctx: self._who(ctx, workshop))

    def look_once(self) -> None:
        """Let all that is looked at from now on see one view of the store, one look after another."""
        if self.looks is None:
            self.looks = OneByOne(self.pipeline)

    async def rest(self) -> None:
        """End that view: nothing more is looked at."""
        if self.looks is not None:
            with CancelScope(shield=True):  # of somebody who has gone, too
                await self.looks.rest()

    async def in_thread(self, work: Callable[[Context], T]) -> T:
        """Within the one place that a request takes: over HTTP a query's works wait for each other."""
        if self.looks is not None:
            return await self.looks.run(partial(work, self.looks.pipeline.ctx))
        return await in_thread(self.pipeline.threads, lambda: work(self.pipeline.ctx))

    def _who(self, ctx: Context, workshop: str | None) -> Actor:
        """As :meth:`actor`, in a thread."""
        if workshop not in self._resolved:
            params = self.connection_params if isinstance(self.connection_params, dict) else {}
            bearer = params.get("authorization")
            self._resolve(ctx, workshop, bearer if isinstance(bearer, str) else None)
        try:
            return need_actor(self._resolved[workshop])
        except UnauthenticatedError:
            if self.placed_with is not None and workshop is None:
                self._resolve(ctx, None, f"Bearer {self.placed_with}")
                return need_actor(self._resolved[None])
            words = "Nobody is signed in. Send a token, open the client's link, or sign in."
            raise ApiError("UNAUTHENTICATED", words) from None
        except ConflictError as due:
            raise ApiError("SECOND_STEP_DUE", str(due)) from None

    def _resolve(self, ctx: Context, workshop: str | None, bearer: str | None) -> None:
        try:
            self._resolved[workshop] = who_asks(ctx, self.connection, workshop, bearer)
        except TooManyError as error:
            raise ApiError("TOO_MANY", str(error)) from None

    async def ask_again(self) -> None:
        """Look up anew who asks. Raises ApiError where they may no more."""
        self._resolved.clear()
        await self.actor()

    async def run(
        self, work: Callable[Concatenate[Context, Actor, P], T], *args: P.args, **kwargs: P.kwargs
    ) -> T:
        """Run a use case in a thread, as the one who asks. Raises what it raises."""

        def call(ctx: Context) -> T:
            actor = self._who(ctx, None)
            return within(actor.workshop_id, partial(work, ctx, actor, *args, **kwargs))()

        def alone(_ctx: Context) -> T:
            with one_view(self.pipeline) as viewing:
                return call(viewing.ctx)

        return await self.in_thread(alone if self.looks is None else call)

    async def look(
        self, work: Callable[Concatenate[Context, Actor, P], T], *args: P.args, **kwargs: P.kwargs
    ) -> T:
        """As ``run``, for fields without an outcome type: what the use case refuses becomes an ApiError."""
        try:
            return await self.run(work, *args, **kwargs)
        except DomainError as error:
            code = type(error).__name__
            raise ApiError(_CODES.get(code, "REFUSED"), str(error)) from None

    def fill(self, loader: str, found: Iterable[tuple[str, Any]]) -> None:
        """Keep what was loaded beforehand; called from the thread that loaded it."""
        self._ready.setdefault(loader, {}).update(found)

    def ready(self, loader: str) -> Mapping[str, Any]:
        """All that was loaded beforehand by one loader, as it comes to be."""
        return self._ready.setdefault(loader, {})

    def get(self, loader: str, key: str) -> Any:
        """What was loaded beforehand, at once; else to be awaited."""
        ready = self._ready.get(loader)
        if ready is not None and key in ready:
            return ready[key]
        return getattr(self, loader).load(key)

    def _loader(self, load: Load) -> DataLoader[str, Any]:
        async def batch(ids: list[str]) -> list[Any]:
            return await self.run(load, ids)

        return DataLoader(batch)

    @cached_property
    def orders(self) -> DataLoader[str, Any]:
        """Orders by id."""
        return self._loader(looking.orders_by_ids)

    @cached_property
    def lines(self) -> DataLoader[str, Any]:
        """Lines by order."""
        return self._loader(looking.lines_by_order_ids)

    @cached_property
    def carvings_of_order(self) -> DataLoader[str, Any]:
        """Carvings by order."""
        return self._loader(looking.carvings_by_order_ids)

    @cached_property
    def marks_of_order(self) -> DataLoader[str, Any]:
        """The workshop's own marks by order. ApiError where they are not for whoever asks."""

        async def batch(ids: list[str]) -> list[Any]:
            return await self.look(marking.marks_by_order_ids, ids)

        return DataLoader(batch)

    @cached_property
    def carvings(self) -> DataLoader[str, Any]:
        """Carvings by id."""
        return self._loader(looking.carvings_by_ids)

    @cached_property
    def artworks_of_order(self) -> DataLoader[str, Any]:
        """Files by order."""
        return self._loader(looking.artworks_by_order_ids)

    @cached_property
    def artworks(self) -> DataLoader[str, Any]:
        """Files by id."""
        return self._loader(looking.artworks_by_ids)

    @cached_property
    def readings(self) -> DataLoader[str, Any]:
        """Readings by id."""
        return self._loader(looking.readings_by_ids)

    @cached_property
    def proofs(self) -> DataLoader[str, Any]:
        """Proofs by id."""
        return self._loader(looking.proofs_by_ids)

    @cached_property
    def brief_proofs(self) -> DataLoader[str, Any]:
        """Proofs by id, without their checks and facts."""
        return self._loader(looking.brief_proofs_by_ids)

    @cached_property
    def proofs_of_carving(self) -> DataLoader[str, Any]:
        """Every proof by carving."""
        return self._loader(looking.proofs_by_carving_ids)

    @cached_property
    def jobs_of_order(self) -> DataLoader[str, Any]:
        """Background work by order."""
        return self._loader(looking.jobs_by_order_ids)

    @cached_property
    def decisions_of_order(self) -> DataLoader[str, Any]:
        """Record entries by order."""
        return self._loader(looking.decisions_by_order_ids)

    def show(self, whole: OrderAggregate) -> None:
        """Let the fields below an order be read from this, which its use case just gave back."""
        self.forget()
        order = whole.order.id
        self.orders.prime(order, whole.order)
        self.lines.prime(order, whole.lines)
        self.carvings_of_order.prime(order, whole.carvings)
        self.artworks_of_order.prime(order, whole.artworks)
        self.artworks.prime_many({artwork.id: artwork for artwork in whole.artworks})
        self.readings.prime_many({reading.id: reading for reading in whole.readings})
        self.proofs.prime_many({proof.id: proof for proof in whole.proofs})

    def forget(self) -> None:
        """Drop what was loaded: something has changed since."""
        for ready in self._ready.values():
            ready.clear()
        for name in ("orders", "lines", "carvings_of_order", "carvings", "artworks_of_order", "artworks"):
            self.__dict__.pop(name, None)
        for name in (
            "readings",
            "proofs",
            "brief_proofs",
            "proofs_of_carving",
            "jobs_of_order",
            "decisions_of_order",
        ):
            self.__dict__.pop(name, None)


_CODES = {
    "NotFoundError": "NOT_FOUND",
    "NotAllowedError": "NOT_ALLOWED",
    "InvalidError": "INVALID",
    "StaleError": "STALE",
    "ConflictError": "CONFLICT",
    "TooManyError": "TOO_MANY",
}

Info = strawberry.Info[Graph, None]
