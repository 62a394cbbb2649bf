"""Running a use case, and telling how it went."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import TypeVar

from schema.context import Graph
from schema.outcomes import Refusals, refusal_of
from service.orders.actors import Actor
from service.orders.errors import DomainError
from service.store.wall import within
from service.usecases.context import Context

T = TypeVar("T")


async def attempt(
    graph: Graph, work: Callable[[Context, Actor], T], workshop: str | None = None
) -> T | Refusals:
    """Run a use case in a thread; what it refuses becomes an outcome."""
    try:
        actor = await graph.actor(workshop)
        done = await graph.in_thread(lambda ctx: within(actor.workshop_id, partial(work, ctx, actor))())
    except DomainError as error:
        return refusal_of(error)
    graph.forget()
    return done
