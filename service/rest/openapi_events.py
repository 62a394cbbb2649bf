"""Event streams in the OpenAPI document: they are no rows of the table."""

from __future__ import annotations

from typing import Any

from service.rest import problems
from service.rest.headers import references
from service.rest.openapi_parts import OF_PROBLEMS, PROBLEM, WITH, path_parameters
from service.rest.scopes import who_may


def order_events() -> dict[str, Any]:
    """``GET /orders/{order}/events``."""
    words = (
        "Server-sent events: `order` (`{activity}`) whenever anything within the order changes, `jobs` (the "
        "list of background work) whenever that moves on."
    )
    content = {problems.MEDIA_TYPE: {"schema": PROBLEM}}
    failures = {
        status: {
            "description": "See `/problems/`.",
            "headers": references("X-Request-Id", "Cache-Control", *OF_PROBLEMS, *WITH.get(status, ())),
            "content": content,
        }
        for status in ("401", "404", "429")
    }
    return {
        "operationId": "getOrderEvents",
        "summary": "Follow what happens within an order.",
        "description": words,
        "tags": ["Background work"],
        "parameters": path_parameters("{order}"),
        "responses": {
            "200": {
                "description": "Events.",
                "headers": references("X-Request-Id", "Cache-Control"),
                "content": {"text/event-stream": {"schema": {"type": "string"}}},
            }
        }
        | failures,
    }


def workshop_events() -> dict[str, Any]:
    """``GET /events/stream``."""
    words = (
        "Server-sent events: each has the event's number as its `id`, its kind as its `event` and the same data as "
        "`listEvents`. A stream that was cut goes on where it was: browsers send `Last-Event-ID` by themselves. "
        "Without it the stream begins with what happens from now on. "
    )
    stream = order_events()
    number = {"type": "integer", "minimum": 0}
    failures = {status: stream["responses"][status] for status in ("401", "429")}
    return stream | {
        "operationId": "followEvents",
        "summary": "Follow what happens in the workshop.",
        "description": words + who_may("followEvents", open_to_all=False),
        "tags": ["Events and webhooks"],
        "parameters": [
            {
                "name": "Last-Event-ID",
                "in": "header",
                "description": "number of the last event had; the stream goes on after it",
                "schema": number,
            }
        ],
        "responses": {"200": stream["responses"]["200"], "403": stream["responses"]["401"]} | failures,
    }
