"""Addresses of the operations as a tree of their parts: one is found in as many steps as it has parts."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Generic, TypeVar

from starlette.requests import Request
from starlette.routing import BaseRoute, Match
from starlette.types import Receive, Scope, Send

from service.rest.pipeline import Endpoint
from service.rest.speaking import speak_as_asked

_PARAMETER = re.compile(r"{(\w+)}")


T = TypeVar("T")


@dataclass
class _Node(Generic[T]):
    """What may follow a part of an address: fixed parts first, then those with a parameter in them, then any."""

    value: T | None = None
    fixed: dict[str, _Node[T]] = field(default_factory=dict)
    formed: list[tuple[re.Pattern[str], _Node[T]]] = field(default_factory=list)
    any: tuple[str, _Node[T]] | None = None


class AddressTree(Generic[T]):
    """Addresses as Starlette writes them, and what is at each."""

    def __init__(self, values: Mapping[str, T]) -> None:
        """Take them in. ValueError where parameters at one place have two names."""
        self._root: _Node[T] = _Node()
        for path, value in values.items():
            node = self._root
            for part in path.strip("/").split("/"):
                node = _child(node, part)
            node.value = value

    def find(self, address: str) -> tuple[T, dict[str, str]] | None:
        """What is there, with the parameters in the order of the address."""
        return _found(self._root, address.removeprefix("/").split("/"), 0, {})


class RouteTree(BaseRoute):
    """Every address below a prefix."""

    def __init__(self, prefix: str, endpoints: Mapping[str, Endpoint], otherwise: Endpoint) -> None:
        """Take them in.

        Args:
            prefix: of all addresses, such as ``/api/v1``.
            endpoints: address below it → what answers.
            otherwise: what answers below the prefix where nothing is.
        """
        self._prefix = prefix
        self._otherwise = otherwise
        self._endpoints = AddressTree(endpoints)

    def matches(self, scope: Scope) -> tuple[Match, Scope]:
        """Whether an address is one of these; see ``starlette.routing.BaseRoute``."""
        if scope["type"] != "http" or not scope["path"].startswith(self._prefix + "/"):
            return Match.NONE, {}
        endpoint, given = self._endpoints.find(scope["path"][len(self._prefix) :]) or (self._otherwise, {})
        return Match.FULL, {"endpoint": endpoint, "path_params": given}

    async def handle(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer, a refusal in the language that is asked for; see ``starlette.routing.BaseRoute``."""
        request = Request(scope, receive, send)
        speak_as_asked(request)
        response = await scope["endpoint"](request)
        await response(scope, receive, send)


def _child(node: _Node[T], part: str) -> _Node[T]:
    whole = _PARAMETER.fullmatch(part)
    if whole:
        if node.any is None:
            node.any = (whole[1], _Node())
        if node.any[0] != whole[1]:
            raise ValueError(f"{node.any[0]} and {whole[1]} are at one place: name them alike")
        return node.any[1]
    if "{" not in part:
        return node.fixed.setdefault(part, _Node())
    pieces = _PARAMETER.split(part)  # text, name, text, name, …, text
    names = (f"(?P<{piece}>[^/]+)" if place % 2 else re.escape(piece) for place, piece in enumerate(pieces))
    pattern = re.compile("".join(names))
    made: _Node[T] = _Node()
    node.formed.append((pattern, made))
    return made


def _found(
    node: _Node[T], parts: list[str], place: int, given: dict[str, str]
) -> tuple[T, dict[str, str]] | None:
    """What is there from a part of an address on, with the parameters of the parts before."""
    if place == len(parts):
        return None if node.value is None else (node.value, given)
    part = parts[place]
    if (fixed := node.fixed.get(part)) and (found := _found(fixed, parts, place + 1, given)):
        return found
    for pattern, child in node.formed:
        if (match := pattern.fullmatch(part)) and (
            found := _found(child, parts, place + 1, given | match.groupdict())
        ):
            return found
    if node.any is not None and part:
        return _found(node.any[1], parts, place + 1, given | {node.any[0]: part})
    return None
