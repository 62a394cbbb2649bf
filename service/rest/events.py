"""What happens within an order as it happens: server-sent events (WHATWG HTML §9.2)."""

from __future__ import annotations

import json
import time
from collections.abc import AsyncIterator

import anyio
from anyio import CapacityLimiter, to_thread
from starlette.requests import Request
from starlette.responses import Response, StreamingResponse

from service.orders.actors import Actor
from service.orders.errors import ConflictError, NotAllowedError, NotFoundError, TooManyError
from service.rest.hearing import Hearing, hearing
from service.rest.operation import Serving
from service.rest.pipeline import Endpoint, UnauthenticatedError, need_actor, problem_of, who_asks
from service.rest.raw_json import adapter
from service.rest.responses.webhooks import EventBody, event_body
from service.rest.responses.work import job_body
from service.usecases import looking, webhooks
from service.usecases.context import Context

WORKSHOP_LOOK_SECONDS = 1.0
KEEP_ALIVE_SECONDS = 14.0
ASK_AGAIN_SECONDS = 10.0  # a session that ended, a link revoked, hears no more
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
                raise TooManyError(5)
            listener = await to_thread.run_sync(_admit, ctx, request, order, limiter=threads)
        except Exception as error:  # noqa: BLE001 - errors become answers
            return problem_of(error)
        stream = _follow(listener, serving, listeners)
        headers = {"Cache-Control": "no-store", "X-Accel-Buffering": "no"}
        return StreamingResponse(stream, media_type="text/event-stream", headers=headers)

    return respond


def workshop_events(serving: Serving) -> Endpoint:
    """The endpoint of ``GET /events/stream``."""
    listeners = CapacityLimiter(MOST_LISTENERS)
    ctx, threads = serving.ctx, serving.threads

    async def respond(request: Request) -> Response:
        try:
            if listeners.available_tokens < 1:
                raise TooManyError(5)
            listener = await to_thread.run_sync(_WorkshopListener, ctx, request, limiter=threads)
        except Exception as error:  # noqa: BLE001 - errors become answers
            return problem_of(error)
        stream = _follow_workshop(listener, threads, listeners)
        headers = {"Cache-Control": "no-store", "X-Accel-Buffering": "no"}
        return StreamingResponse(stream, media_type="text/event-stream", headers=headers)

    return respond


class _WorkshopListener:
    """Somebody who listens to a workshop; who they are is looked up anew now and then."""

    def __init__(self, ctx: Context, request: Request) -> None:
        self._ctx, self._request = ctx, request
        self._actor, self._asked = self._who(), time.monotonic()
        last = webhooks.last_event(ctx, self._actor)
        sent = request.headers.get("last-event-id", "")
        self._seen = min(int(sent), last) if sent.isdecimal() and len(sent) < 10 else last

    def look(self) -> list[str]:
        """What happened since, as events. NotAllowedError, UnauthenticatedError, ConflictError "second-step-due"."""
        if time.monotonic() - self._asked >= ASK_AGAIN_SECONDS:
            self._actor, self._asked = self._who(), time.monotonic()
        found = webhooks.list_events(self._ctx, self._actor, self._seen, 100)
        if found:
            self._seen = found[-1].number
        bodies = ((each, adapter(EventBody).dump_json(event_body(each)).decode()) for each in found)
        return [f"id: {each.number}\n{_event(each.kind, body)}" for each, body in bodies]

    def _who(self) -> Actor:
        return need_actor(who_asks(self._ctx, self._request, None))


async def _follow_workshop(
    listener: _WorkshopListener, threads: CapacityLimiter, listeners: CapacityLimiter
) -> AsyncIterator[str]:
    async with listeners:
        quiet = anyio.current_time()
        end = quiet + LONGEST_SECONDS
        yield ": here\n\n"
        while anyio.current_time() < end:
            try:
                found = await to_thread.run_sync(listener.look, limiter=threads)
            except (NotAllowedError, NotFoundError, ConflictError, UnauthenticatedError):
                yield _event("gone", "{}")
                return
            if found:
                quiet = anyio.current_time()
                yield "".join(found)
            elif anyio.current_time() - quiet > KEEP_ALIVE_SECONDS:
                quiet = anyio.current_time()
                yield ": still here\n\n"
            await anyio.sleep(WORKSHOP_LOOK_SECONDS)


def _admit(ctx: Context, request: Request, order: str) -> _Listener:
    listener = _Listener(ctx, request, order)
    listener.look()
    return listener


class _Listener:
    """Somebody who listens to an order; who they are is looked up anew now and then."""

    def __init__(self, ctx: Context, request: Request, order: str) -> None:
        self._ctx, self._request, self.order = ctx, request, order
        self._actor, self._asked = self._who(), time.monotonic()

    def asked_again_in(self) -> float:
        """Seconds until who listens is looked up anew."""
        return max(0.0, self._asked + ASK_AGAIN_SECONDS - time.monotonic())

    def look(self) -> tuple[int, str]:
        """How often the order has changed, and its work as JSON.

        NotFoundError, UnauthenticatedError, ConflictError "second-step-due".
        """
        if time.monotonic() - self._asked >= ASK_AGAIN_SECONDS:
            self._actor, self._asked = self._who(), time.monotonic()
        activity = looking.get_activity(self._ctx, self._actor, self.order)
        jobs = looking.jobs_by_order_ids(self._ctx, self._actor, [self.order])[0]
        bodies = tuple(job_body(job) for job in jobs)
        return activity, adapter(type(bodies)).dump_json(bodies).decode()

    def _who(self) -> Actor:
        return need_actor(who_asks(self._ctx, self._request, None))


async def _follow(listener: _Listener, serving: Serving, listeners: CapacityLimiter) -> AsyncIterator[str]:
    threads = serving.threads
    async with listeners:
        with hearing(serving.bells, listener.order) as heard:
            async for event in _events(listener, threads, heard):
                yield event


async def _events(listener: _Listener, threads: CapacityLimiter, heard: Hearing) -> AsyncIterator[str]:
    seen, last = -1, ""
    quiet = anyio.current_time()
    end = quiet + LONGEST_SECONDS
    while anyio.current_time() < end:
        try:
            seen_now, jobs = await to_thread.run_sync(listener.look, limiter=threads)
        except (NotFoundError, ConflictError, UnauthenticatedError):
            yield _event("gone", "{}")
            return
        if jobs != last:
            last = jobs
            yield _event("jobs", jobs)
        if seen_now != seen:
            seen = seen_now
            quiet = anyio.current_time()
            yield _event("order", json.dumps({"activity": seen}))
        elif anyio.current_time() - quiet >= KEEP_ALIVE_SECONDS:
            quiet = anyio.current_time()
            yield ": still here\n\n"
        await heard.news(listener.asked_again_in())


def _event(name: str, data: str) -> str:
    return f"event: {name}\ndata: {data}\n\n"
