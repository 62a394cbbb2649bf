"""Which media type an operation is answered in: by ``Accept``'s weights (RFC 9110 §12.5.1) and what it asks for.

A query or mutation is answered as JSON wherever that is acceptable at all: a client that names an event stream among
what it takes (urql does, always) means its subscriptions. A subscription is answered as a stream. Where a client takes
nothing but event streams, queries come as a stream of one event (GraphQL over SSE, distinct connections mode).
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import lru_cache
from typing import Final

from graphql import DocumentNode, OperationDefinitionNode, OperationType

from service.language.weights import Accepted, accepted

GRAPHQL_JSON: Final = "application/graphql-response+json"
PLAIN_JSON: Final = "application/json"
EVENTS: Final = "text/event-stream"
PARTS: Final = "multipart/mixed"
JSON_TYPES: Final = (PLAIN_JSON, GRAPHQL_JSON)
"""The first is given to whoever has no wish: clients of before the specification expect it."""
_UNIVERSAL = "*/*"


def _matches(given: Accepted, kind: str) -> int:
    """How closely an entry names a media type: 0 not at all, 1 by ``*/*``, 2 by ``type/*``, 3 by name."""
    if given.value == kind:
        return 3
    if given.value == kind.partition("/")[0] + "/*":
        return 2
    return int(given.value == _UNIVERSAL)


def ranges_of(accept: str | None) -> tuple[Accepted, ...]:
    """The media ranges of a header; everything where there is none (RFC 9110 §12.5.1)."""
    if accept is None or not accept.strip():
        return (Accepted(_UNIVERSAL, {}, 1.0, 0),)
    return tuple(accepted(accept))


def weight_of(kind: str, ranges: Iterable[Accepted]) -> tuple[float, int, int]:
    """How acceptable a media type is: its weight, how closely it is named, and how early (as a number below 1)."""
    closest = max(ranges, key=lambda each: (_matches(each, kind), each.weight, -each.place), default=None)
    if closest is None or not _matches(closest, kind):
        return 0.0, 0, 0
    return closest.weight, _matches(closest, kind), -closest.place


def json_for(ranges: tuple[Accepted, ...]) -> str | None:
    """The JSON type to answer in; ``None`` where none is acceptable."""
    found = max(JSON_TYPES, key=lambda kind: weight_of(kind, ranges))
    return found if weight_of(found, ranges)[0] > 0 else None


def stream_for(ranges: tuple[Accepted, ...]) -> str | None:
    """The stream to answer in, :data:`EVENTS` or :data:`PARTS`; ``None`` where neither is acceptable.

    A multipart answer only where its dialect is named (``subscriptionSpec``, and no boundary but the one it has):
    many a client says ``multipart/mixed`` and means deferred parts of queries.
    """
    events, parts = weight_of(EVENTS, ranges), (0.0, 0, 0)
    named = tuple(each for each in ranges if each.value == PARTS and _means_subscriptions(each))
    if named:
        parts = weight_of(PARTS, named)
    if max(events[0], parts[0]) <= 0:
        return None
    return PARTS if parts > events else EVENTS


def _means_subscriptions(given: Accepted) -> bool:
    spec = given.parameters.get("subscriptionspec", "")
    return spec.startswith("1.0") and given.parameters.get("boundary", "graphql") == "graphql"


@lru_cache(maxsize=256)
def acceptable(accept: str | None) -> tuple[str | None, str | None]:
    """The stream and the JSON type that a header takes: see :func:`stream_for` and :func:`json_for`."""
    ranges = ranges_of(accept)
    return stream_for(ranges), json_for(ranges)


def is_subscription(document: DocumentNode, name: str | None) -> bool:
    """Whether the operation that is asked for is a subscription."""
    operations = [each for each in document.definitions if isinstance(each, OperationDefinitionNode)]
    asked = [each for each in operations if not name or (each.name and each.name.value == name)]
    return len(asked) == 1 and asked[0].operation is OperationType.SUBSCRIPTION
