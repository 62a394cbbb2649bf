"""JSON that is stored goes out as it is stored, without being parsed and written anew in between.

While a body is serialised, such a value leaves a mark that nobody can guess; the marks are then replaced by the
stored texts.
"""

from __future__ import annotations

import re
import secrets
from collections.abc import Mapping
from contextvars import ContextVar
from dataclasses import dataclass
from functools import cache
from typing import Annotated, Any

from pydantic import GetJsonSchemaHandler, PlainSerializer, TypeAdapter
from pydantic.json_schema import JsonSchemaValue

from service.store.stored_json import StoredJson

_MARK = secrets.token_hex(16)
_FIND = re.compile(f'"{_MARK}:(\\d+)"'.encode())
_texts: ContextVar[list[bytes] | None] = ContextVar("texts", default=None)


def _marked(value: Mapping[str, Any]) -> Any:
    texts = _texts.get()
    if texts is None or not isinstance(value, StoredJson):
        return dict(value)
    texts.append(value.text.encode())
    return f"{_MARK}:{len(texts) - 1}"


@dataclass(frozen=True)
class _Shape:
    """What a stored object looks like, for the contract; it is not looked into on its way out."""

    kind: Any

    def __get_pydantic_json_schema__(self, _schema: Any, handler: GetJsonSchemaHandler) -> JsonSchemaValue:
        return handler(TypeAdapter(self.kind).core_schema)


def stored_as(kind: Any) -> Any:
    """A JSON object that may be a stored one, and looks like ``kind``."""
    return Annotated[Mapping[str, Any], PlainSerializer(_marked), _Shape(kind)]


def dump(adapter: TypeAdapter[Any], body: Any) -> bytes:
    """The body as JSON, stored parts verbatim."""
    texts: list[bytes] = []
    token = _texts.set(texts)
    try:
        dumped = adapter.dump_json(body)
    finally:
        _texts.reset(token)
    return _FIND.sub(lambda found: texts[int(found[1])], dumped) if texts else dumped


@cache
def adapter(kind: Any) -> TypeAdapter[Any]:
    """The serialiser of a type, made once."""
    return TypeAdapter(kind)
