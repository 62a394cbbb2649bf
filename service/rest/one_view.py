"""One view of the store for all that one request reads."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from typing import Any, TypeVar

from artwork.intake.foreign import Converted, Foreign
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
