"""What a client's form sends on: what it says of the order, and a file.

A form's fields have the API's names, so what the API takes is what the form may say.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import cache
from types import MappingProxyType
from typing import Any, TypeGuard

from service.pages.calling import Api
from service.pages.forms import Sent, SentFile
from service.rest.operation import Received
from service.rest.receiving import LONGEST_NAME
from service.rest.requests.base import Ask
from service.rest.requests.orders import OrderAsk

Json = Mapping[str, Any]


def terms_of(sent: Sent, model: type[Ask] = OrderAsk) -> dict[str, Any]:
    """What a form says of an order, as the API takes it; a field that the form does not have is left out."""
    said: dict[str, Any] = {}
    for name, field in model.model_fields.items():
        if _is_model(field.annotation):
            said[name] = terms_of(sent, field.annotation)
        elif name in sent.form:
            said[name] = sent.flag(name) if field.annotation is bool else sent.text(name) or field.default
    return said


def details_of(order: Json, model: type[Ask] = OrderAsk) -> dict[str, str]:
    """What an order says, as a form shows it; a tick is a word."""
    shown: dict[str, str] = {}
    for name, field in model.model_fields.items():
        held = order.get(name)
        if _is_model(field.annotation) and isinstance(held, Mapping):
            shown |= details_of(held, field.annotation)
        elif held is None or isinstance(held, str | bool):
            shown[name] = "yes" if held is True else held or ""
        elif isinstance(held, int | float):
            shown[name] = f"{held:g}"
    return shown


def told_of(order: Json) -> list[tuple[str, str]]:
    """What an order says in fields that have a title: title and words, for pages that only show."""
    titles = ((field.title, order.get(name)) for name, field in OrderAsk.model_fields.items())
    return [(title, str(held)) for title, held in titles if title and held]


@cache
def longest() -> Mapping[str, int]:
    """Form field → most characters that the API takes."""
    return dict(_longest(OrderAsk))


def _longest(model: type[Ask]) -> Iterator[tuple[str, int]]:
    for name, field in model.model_fields.items():
        if _is_model(field.annotation):
            yield from _longest(field.annotation)
        elif field.annotation is str:
            yield from ((name, each.max_length) for each in field.metadata if hasattr(each, "max_length"))


def _is_model(kind: Any) -> TypeGuard[type[Ask]]:
    return isinstance(kind, type) and issubclass(kind, Ask)


def received(file: SentFile, fields: Mapping[str, tuple[str, ...]] = MappingProxyType({})) -> Received:
    """A form's file as operations take it."""
    kind = file.content_type.partition(";")[0].strip().lower() or "application/octet-stream"
    return Received(file.data, file.name[:LONGEST_NAME], kind, fields)


async def upload(api: Api, order_id: str, file: SentFile, carvings: list[str], once: str = "") -> Json:
    """Hand a file on. CallError."""
    fields = {"carvings": (",".join(carvings),)} if carvings else {}
    sent = received(file, fields)
    reply = await api.send("POST", f"/orders/{order_id}/artworks", file=sent, once=once or None)
    body: Json = reply.json
    return body
