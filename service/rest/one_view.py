"""One view of the store for all that one request reads."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from typing import Any, TypeVar

from anyio import CapacityLimiter, Lock
from sqlalchemy.exc import DBAPIError

from artwork.intake.foreign import Converted, Foreign
from service.rest.in_thread import in_thread
from service.rest.operation import Pipeline
from service.store.sharing import Shared
from service.usecases.context import Compute

T = TypeVar("T")


@contextmanager
def one_view(pipeline: Pipeline) -> Iterator[Pipeline]:
    """Everything read meanwhile sees one view of the store, which ends before anything long is computed."""
    viewing, store = sharing(pipeline)
    try:
        yield viewing
    finally:
        store.let_go()


def sharing(pipeline: Pipeline) -> tuple[Pipeline, Shared]:
    """The same service with one view of the store, and that view, which whoever asks for it ends."""
    store = Shared(pipeline.ctx.store)
    ctx = replace(pipeline.ctx, store=store, compute=_Aside(pipeline.ctx.compute, store))
    return replace(pipeline, ctx=ctx), store


class OneByOne:
    """The calls of one request, made one after another in threads, which see one view of the store.

    Attributes:
        pipeline: what they are made with.
        store: the view.
    """

    def __init__(self, pipeline: Pipeline) -> None:
        """Nothing is taken yet."""
        self.pipeline, self.store = sharing(pipeline)
        self._one = CapacityLimiter(1)
        self._taking = Lock()
        self._placed = False

    async def run(self, call: Callable[[], T]) -> T:
        """In a thread, within the one place that a request takes among those worked on at once.

        Were a place taken for every call, requests that hold a view of the store would wait for places, and those
        in places for a connection to the store.
        """
        async with self._taking:
            if not self._placed:
                await self.pipeline.threads.acquire_on_behalf_of(self)
                self._placed = True
        return await in_thread(self._one, lambda: self._looked(call))

    async def rest(self) -> None:
        """End the view of the store and make place for others: the request now waits for something else."""
        if self._placed:
            await in_thread(self._one, self.store.let_go)
            self.pipeline.threads.release_on_behalf_of(self)
            self._placed = False

    def _looked(self, call: Callable[[], T]) -> T:
        try:
            return call()
        except DBAPIError:
            self.store.let_go()  # PostgreSQL answers nothing more in the transaction of a statement that failed
            raise


class _Aside:
    """Computing, before which the visit's view of the store ends: nobody's long work keeps a connection."""

    def __init__(self, compute: Compute, store: Shared) -> None:
        self._compute = compute
        self._store = store

    def run(self, function: Callable[..., T], *args: Any, **how: Any) -> T:
        """See ``service.usecases.context.Compute``."""
        self._store.let_go()
        return self._compute.run(function, *args, **how)

    def convert(self, part: Foreign) -> Converted:
        """See ``service.usecases.context.Compute``."""
        self._store.let_go()
        return self._compute.convert(part)

    def run_each(self, function: Callable[..., T], calls: Iterable[tuple[Any, ...]]) -> Iterator[T]:
        """See ``service.usecases.context.Compute``."""
        self._store.let_go()
        return self._compute.run_each(function, calls)
