"""What goes between the service and a caged process: questions pickled by the service, answers of plain values.

Nothing that a caged process sends is ever unpickled. An answer is MessagePack of numbers, text, bytes, lists and
maps; the service builds from it what the function it asked is declared to return, and refuses anything else.
"""

from __future__ import annotations

import math
import pickle
import secrets
import socket
import struct
import sys
import time
import typing
from collections.abc import Callable, Mapping
from dataclasses import fields, is_dataclass
from enum import Enum
from functools import lru_cache
from typing import Any

import msgpack
import numpy as np
from pydantic import ConfigDict, TypeAdapter, ValidationError
from pydantic.errors import PydanticUserError

from artwork.errors import EngineError

LARGEST = 256 << 20
"""Longest answer, bytes: a sheet or the drawings of ten proofs take a few million."""
MARK_BYTES = 16
"""Length of what marks a question, and the answer to it: an answer sent before its question fits none."""
_LENGTH = struct.Struct("<Q")
_DEEPEST = 64


class BadAnswerError(Exception):
    """A caged process sent something that no answer to the question can be."""


class GoneError(Exception):
    """A caged process ended without an answer."""


def send(channel: socket.socket, data: bytes) -> None:
    """One message. OSError where the other side is gone."""
    channel.sendall(_LENGTH.pack(len(data)) + data)


def ask(channel: socket.socket, work: Any, deadline: float) -> bytearray:
    """Have a caged process do some work; what it answers. Gone, BadAnswerError, TimeoutError, OSError."""
    mark = secrets.token_bytes(MARK_BYTES)
    send(channel, mark + pickle.dumps(work))
    answer = receive(channel, deadline)
    if not secrets.compare_digest(bytes(answer[:MARK_BYTES]), mark):
        raise BadAnswerError("an answer to no question")
    return answer[MARK_BYTES:]


def receive(channel: socket.socket, deadline: float | None = None, largest: int = LARGEST) -> bytearray:
    """The next message. Gone, BadAnswerError, TimeoutError.

    Args:
        deadline: by the monotonic clock; ``None`` waits as long as it takes.
        largest: longest message taken, bytes.
    """
    (length,) = _LENGTH.unpack(_exactly(channel, _LENGTH.size, deadline))
    if length > largest:
        raise BadAnswerError(f"an answer of {length} bytes")
    return _exactly(channel, length, deadline)


def _exactly(channel: socket.socket, length: int, deadline: float | None) -> bytearray:
    data = bytearray(length)
    rest = memoryview(data)
    while rest:
        left = None if deadline is None else deadline - time.monotonic()
        if left is not None and left <= 0:
            raise TimeoutError
        if left is not None:
            channel.settimeout(left)
        try:
            count = channel.recv_into(rest)
        except TimeoutError:
            raise
        except OSError as error:
            raise GoneError from error
        if count == 0:
            raise GoneError
        rest = rest[count:]
    return data


def answered(value: Any) -> bytes:
    """An answer as it is sent."""
    return _packed({"value": plain(value)})


def refused(refusal: EngineError) -> bytes:
    """A refusal as it is sent."""
    return _packed({"refusal": [refusal.code, refusal.message, refusal.cure]})


def failed(error: BaseException) -> bytes:
    """A fault as it is sent."""
    return _packed({"fault": f"{type(error).__name__}: {error}"[:2000]})


def out_of_memory() -> bytes:
    """That there was no more memory, as it is sent."""
    return _packed({"memory": True})


def _packed(message: Mapping[str, Any]) -> bytes:
    packed: bytes = msgpack.packb(message, use_bin_type=True)
    return packed


def plain(value: Any) -> Any:
    """The value as numbers, text, bytes, lists and maps. TypeError for what is none of these."""
    match value:
        case Enum():
            found = plain(value.value)
        case None | bool() | int() | float() | str() | bytes():
            found = value
        case np.generic() | np.ndarray():
            found = value.tolist()
        case Mapping():
            found = {str(key): plain(each) for key, each in value.items()}
        case list() | tuple() | set() | frozenset():
            found = [plain(each) for each in value]
        case _ if is_dataclass(value):
            found = {field.name: plain(getattr(value, field.name)) for field in fields(value) if field.init}
        case _:
            raise TypeError(f"{type(value).__name__} is no plain value")
    return found


def read_answer(data: bytes | bytearray, function: Callable[..., Any]) -> Any:
    """What the function returned.

    EngineError, MemoryError, ``FaultyError``; BadAnswerError for anything that is none of these.
    """
    try:
        message = msgpack.unpackb(data, raw=False, strict_map_key=True, ext_hook=_no_extension)
        if not isinstance(message, dict) or len(message) != 1:
            raise BadAnswerError("no answer")
        ((kind, value),) = message.items()
        _check(value)
        match kind, value:
            case "refusal", [str(code), str(words), str(cure)]:
                raise EngineError(code[:100], words[:2000], cure[:2000])
            case "fault", str(words):
                raise FaultyError(words[:2000])
            case "memory", True:
                raise MemoryError
            case "value", _:
                return adapter_of(function).validate_python(value)
    except (ValueError, TypeError, RecursionError, msgpack.UnpackException, ValidationError) as error:
        raise BadAnswerError(f"{type(error).__name__}: {str(error)[:500]}") from None
    raise BadAnswerError("no answer")


class FaultyError(Exception):
    """The function raised something that is no refusal."""


def _no_extension(code: int, _data: bytes) -> Any:
    raise ValueError(f"extension {code}")


def _check(value: Any, depth: int = 0) -> None:
    """Plain values alone, finite, not nested without end. ValueError."""
    if depth > _DEEPEST:
        raise ValueError("nested too deep")
    match value:
        case float() if not math.isfinite(value):
            raise ValueError("a figure that is none")
        case None | bool() | int() | float() | bytes() | str():
            return
        case list():
            for each in value:
                _check(each, depth + 1)
        case dict():
            for each in value.values():
                _check(each, depth + 1)
        case _:
            raise ValueError(type(value).__name__)


@lru_cache(maxsize=64)
def adapter_of(function: Callable[..., Any]) -> TypeAdapter[Any]:
    """Builds what the function is declared to return from plain values."""
    declared = type("Declared", (), {"__annotations__": {"value": function.__annotations__["return"]}})
    returned = typing.get_type_hints(declared, vars(sys.modules[function.__module__]))["value"]
    try:
        return TypeAdapter(returned, config=ConfigDict(arbitrary_types_allowed=False))
    except PydanticUserError:  # a dataclass brings its own
        return TypeAdapter(returned)
