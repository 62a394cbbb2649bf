"""What happens within an order as it happens: server-sent events (WHATWG HTML §9.2)."""

from __future__ import annotations

import json
from collections.abc import AsyncIterator

import anyio
from anyio import CapacityLimiter, to_thread
from starlette.requests import Request
from starlette.responses import Response, StreamingResponse

from service.orders.actors import Actor
from service.orders.errors import NotFound, TooMany
from service.rest.bodies.work import job_body
from service.rest.operation import Serving
from service.rest.serving import Endpoint, Unauthenticated, problem_of, who_asks
from service.rest.verbatim import adapter
from service.usecases import looking
from service.usecases.context import Context

LOOK_SECONDS = 0.5
KEEP_ALIVE_SECONDS = 15.0
LONGEST_SECONDS = 600.0  # then the browser connects again, with whatever credentials still hold
MOST_LISTENERS = 200


def order_events(serving: Serving) -> Endpoint:
    """The endpoint of ``GET /orders/{order}/events``."""
    listeners = CapacityLimiter(MOST_LISTENERS)
    ctx, threads = serving.ctx, serving.threads

    async def respond(request: Request) -> Response:
        order = request.path_params["order"]
        try:
            if listeners.available_tokens < 1:
                raise TooMany(5)
            actor = await to_thread.run_sync(_admit, ctx, request, order, limiter=threads)
        except Exception as error:  # noqa: BLE001 - errors become answers
            return problem_of(error)
        stream = _follow(ctx, actor, order, threads, listeners)
        headers = {"Cache-Control": "no-store", "X-Accel-Buffering": "no"}
        return StreamingResponse(stream, media_type="text/event-stream", headers=headers)

    return respond


def _admit(ctx: Context, request: Request, order: str) -> Actor:
    actor = who_asks(ctx, request, None).actor
    if actor is None:
        raise Unauthenticated
    looking.get_activity(ctx, actor, order)
    return actor


async def _follow(
    ctx: Context, actor: Actor, order: str, threads: CapacityLimiter, listeners: CapacityLimiter
) -> AsyncIterator[str]:
    async with listeners:
        seen, last = -1, ""
        quiet = anyio.current_time()
        end = quiet + LONGEST_SECONDS
        while anyio.current_time() < end:
            try:
                seen_now, jobs = await to_thread.run_sync(_look, ctx, actor, order, limiter=threads)
            except NotFound:
                yield _event("gone", "{}")
                return
            if jobs != last:
                last = jobs
                yield _event("jobs", jobs)
            if seen_now != seen:
                seen = seen_now
                quiet = anyio.current_time()
                yield _event("order", json.dumps({"activity": seen}))
            elif anyio.current_time() - quiet > KEEP_ALIVE_SECONDS:
                quiet = anyio.current_time()
                yield ": still here\n\n"
            await anyio.sleep(LOOK_SECONDS)


def _look(ctx: Context, actor: Actor, order: str) -> tuple[int, str]:
    activity = looking.get_activity(ctx, actor, order)
    jobs = looking.jobs_by_order_ids(ctx, actor, [order])[0]
    bodies = tuple(job_body(job) for job in jobs)
    return activity, adapter(type(bodies)).dump_json(bodies).decode()


def _event(name: str, data: str) -> str:
    return f"event: {name}\ndata: {data}\n\n"
