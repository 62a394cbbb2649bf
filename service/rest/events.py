"""What happens as it happens, within an order or in a workshop: server-sent events (WHATWG HTML §9.2)."""

from __future__ import annotations

import json
import time
from abc import ABC, abstractmethod
from collections.abc import AsyncIterator, Callable

import anyio
from anyio import CapacityLimiter, to_thread
from starlette.requests import Request
from starlette.responses import Response, StreamingResponse

from service.orders.actors import Actor
from service.orders.errors import ConflictError, NotAllowedError, NotFoundError, TooManyError
from service.rest.hearing import Hearing, hearing
from service.rest.operation import Pipeline
from service.rest.pipeline import Endpoint, problem_of
from service.rest.raw_json import adapter
from service.rest.responses.webhooks import EventBody, event_body
from service.rest.responses.work import job_body
from service.rest.understanding import UnauthenticatedError, need_actor, who_asks
from service.store import wall
from service.store.bells import events_topic, order_topic
from service.usecases import looking, webhooks
from service.usecases.context import Context

KEEP_ALIVE_SECONDS = 14.0
ASK_AGAIN_SECONDS = 10.0
"""A session that ended, a link revoked, hears no more: nothing is told without asking."""
_QUIET_TIMES = 6
"""So many times as long it may be where there is nothing to tell."""
LONGEST_SECONDS = 600.0  # then the browser connects again, with whatever credentials still hold
MOST_LISTENERS = 200
_HEADERS = {"Cache-Control": "no-store", "X-Accel-Buffering": "no"}
_GONE = (NotAllowedError, NotFoundError, ConflictError, UnauthenticatedError)


class _Listener(ABC):
    """Somebody who listens; who they are is looked up anew before they are told anything, and now and then."""

    topic: str

    def __init__(self, ctx: Context, request: Request) -> None:
        self._ctx, self._request = ctx, request
        self._actor, self._asked = self._who(), time.monotonic()

    def asked_again_in(self) -> float:
        """Seconds until who listens is looked up anew, with nothing to tell."""
        return max(0.0, self._asked + ASK_AGAIN_SECONDS * _QUIET_TIMES - time.monotonic())

    def look(self) -> list[str]:
        """What is to be told, as events. NotAllowedError, NotFoundError, UnauthenticatedError, ConflictError."""
        if time.monotonic() - self._asked >= ASK_AGAIN_SECONDS:
            self._actor, self._asked = self._who(), time.monotonic()
        with wall.serving(self._actor.workshop_id):
            return self._news()

    @abstractmethod
    def _news(self) -> list[str]: ...

    def _who(self) -> Actor:
        return need_actor(who_asks(self._ctx, self._request, None))


class _OrderListener(_Listener):
    """Hears how often an order has changed, and of its background work."""

    def __init__(self, ctx: Context, request: Request) -> None:
        super().__init__(ctx, request)
        self._order: str = request.path_params["order"]
        self.topic = order_topic(self._order)
        self._seen, self._jobs = -1, ""
        looking.get_activity(ctx, self._actor, self._order)

    def _news(self) -> list[str]:
        activity = looking.get_activity(self._ctx, self._actor, self._order)
        found = looking.jobs_by_order_ids(self._ctx, self._actor, [self._order])[0]
        bodies = tuple(job_body(job) for job in found)
        jobs = adapter(type(bodies)).dump_json(bodies).decode()
        told = [] if jobs == self._jobs else [_event("jobs", jobs)]
        if activity != self._seen:
            told.append(_event("order", json.dumps({"activity": activity})))
        self._seen, self._jobs = activity, jobs
        return told


class _WorkshopListener(_Listener):
    """Hears every event of a workshop, after the last one had."""

    def __init__(self, ctx: Context, request: Request) -> None:
        super().__init__(ctx, request)
        self.topic = events_topic(self._actor.workshop_id)
        last = webhooks.last_event(ctx, self._actor)
        sent = request.headers.get("last-event-id", "")
        self._seen = min(int(sent), last) if sent.isdecimal() and len(sent) < 10 else last

    def _news(self) -> list[str]:
        found = webhooks.list_events(self._ctx, self._actor, self._seen, 100)
        if found:
            self._seen = found[-1].number
        bodies = ((each, adapter(EventBody).dump_json(event_body(each)).decode()) for each in found)
        return [f"id: {each.number}\n{_event(each.kind, body)}" for each, body in bodies]


def order_events(pipeline: Pipeline) -> Endpoint:
    """The endpoint of ``GET /orders/{order}/events``."""
    return _stream(pipeline, _OrderListener)


def workshop_events(pipeline: Pipeline) -> Endpoint:
    """The endpoint of ``GET /events/stream``."""
    return _stream(pipeline, _WorkshopListener)


def _stream(pipeline: Pipeline, listens: Callable[[Context, Request], _Listener]) -> Endpoint:
    listeners = CapacityLimiter(MOST_LISTENERS)

    async def respond(request: Request) -> Response:
        try:
            if listeners.available_tokens < 1:
                raise TooManyError(5)
            listener = await to_thread.run_sync(listens, pipeline.ctx, request, limiter=pipeline.threads)
        except Exception as error:  # noqa: BLE001 - errors become answers
            return problem_of(error)
        stream = _follow(listener, pipeline, listeners)
        return StreamingResponse(stream, media_type="text/event-stream", headers=_HEADERS)

    return respond


async def _follow(listener: _Listener, pipeline: Pipeline, listeners: CapacityLimiter) -> AsyncIterator[str]:
    async with listeners:
        with hearing(pipeline.bells, listener.topic) as heard:
            yield ": here\n\n"
            async for event in _events(listener, pipeline.threads, heard):
                yield event


async def _events(listener: _Listener, threads: CapacityLimiter, heard: Hearing) -> AsyncIterator[str]:
    told = anyio.current_time()
    end = told + LONGEST_SECONDS
    while anyio.current_time() < end:
        try:
            found = await to_thread.run_sync(listener.look, limiter=threads)
        except _GONE:
            yield _event("gone", "{}")
            return
        if found:
            told = anyio.current_time()
            yield "".join(found)
        look_at = anyio.current_time() + min(heard.longest, listener.asked_again_in())
        while not await heard.news(min(look_at, told + KEEP_ALIVE_SECONDS) - anyio.current_time()):
            if anyio.current_time() >= look_at:
                break
            told = anyio.current_time()
            yield ": still here\n\n"


def _event(name: str, data: str) -> str:
    return f"event: {name}\ndata: {data}\n\n"
