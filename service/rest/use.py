"""Handlers made from use cases: both doors bind a use case's arguments by the names it gives them."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from inspect import Parameter, signature
from typing import Any, get_type_hints

from service.rest.operation import Answer, Bytes, Call, gives_of
from service.rest.requests.base import Ask, value_of
from service.usecases.answers import BlobFile
from service.usecases.commands import IdempotencyKey

Given = Answer[Any] | BlobFile | Bytes
REVISIONS = frozenset({"expected_revision", "expected_version"})
ONCE = "once"
KEY = "key"
_ALWAYS = 2
"""Every use case takes the context and who asks first."""


class Does:
    """A handler that calls one use case.

    An argument ``order_id`` is the path's ``order``, ``key`` the path's last part; ``expected_revision`` is what
    ``If-Match`` names; ``once`` the idempotency key; any other the field (or property) of that name of the body, or of
    the query where there is no body, or where it has none of that name, all of it as the value that it makes.

    Args:
        use: the use case.
        answer: its value as the REST door gives it.
        after: what else the REST door does once it is done.
    """

    def __init__(
        self,
        use: Callable[..., Any],
        answer: Callable[[Any], Given],
        after: Callable[[Call, Any], None] | None = None,
    ) -> None:
        self.use = use
        self._after = after
        self.parameters: tuple[Parameter, ...] = tuple(signature(use).parameters.values())[_ALWAYS:]
        self._answer = answer
        names = {parameter.name for parameter in self.parameters}
        self.gives = gives_of(answer)
        self.conditional = not names.isdisjoint(REVISIONS)
        self.once = ONCE in names

    def __call__(self, call: Call) -> Given:
        """Answer one call at the REST door."""
        given = self.arguments(
            call.path, call.revision, call.once, call.query if call.ask is None else call.ask
        )
        done = self.use(call.ctx, call.actor, **given)
        if self._after is not None:
            self._after(call, done)
        return self._answer(done)

    def arguments(
        self, path: Mapping[str, str], revision: int, once: IdempotencyKey | None, ask: Ask | None
    ) -> dict[str, Any]:
        """What the use case is given."""
        given: dict[str, Any] = {}
        for parameter in self.parameters:
            name = parameter.name
            if name in REVISIONS:
                given[name] = revision
            elif name == ONCE:
                given[name] = once
            elif (part := path_part(name, path)) is not None:
                given[name] = path[part]
            elif ask is not None:
                given |= _asked(parameter, ask)
        return given


@dataclass(frozen=True)
class Giving:
    """Makes an answer, and says of which type its body is."""

    gives: Any
    answer: Callable[[Any], Answer[Any]]

    def __call__(self, value: Any) -> Answer[Any]:
        """The answer that gives what a use case gave."""
        return self.answer(value)


def one(body: Callable[[Any], Any]) -> Giving:
    """The answer that gives what a use case gave as a body."""
    return Giving(_made_by(body), lambda value: Answer(body(value)))


def itself(kind: type[Any]) -> Giving:
    """The answer that gives what a use case gave as it is."""
    return Giving(kind, Answer)


def revised(body: Callable[[Any], Any]) -> Giving:
    """As :func:`one`, for what has a revision of its own."""

    def answer(value: Any) -> Answer[Any]:
        made = body(value)
        return Answer(made, made.revision)

    return Giving(_made_by(body), answer)


def items(page: type[Any], body: Callable[[Any], Any]) -> Giving:
    """The answer that gives several, as a body that holds them."""
    return Giving(page, lambda values: Answer(page(tuple(map(body, values)))))


def _made_by(body: Callable[[Any], Any]) -> Any:
    return body if isinstance(body, type) else get_type_hints(body)["return"]


def nothing(_done: object) -> Answer[None]:
    """The answer of what gives nothing back."""
    return Answer()


def bytes_of(content_type: str, name: str) -> Callable[[bytes], Bytes]:
    """The answer that gives bytes as a file of that name."""
    return lambda data: Bytes(data, content_type, name)


def as_it_is(file: BlobFile) -> BlobFile:
    """A file is given as the use case gives it."""
    return file


def path_part(argument: str, path: Mapping[str, Any]) -> str | None:
    """The part of a path that an argument names."""
    if argument == KEY and path:
        return list(path)[-1]
    part = argument.removesuffix("_id")
    return part if part in path else None


def _asked(parameter: Parameter, ask: Ask) -> dict[str, Any]:
    """What the body says for an argument; nothing where it leaves the use case's own default."""
    name, model = parameter.name, type(ask)
    if name not in model.model_fields and not isinstance(getattr(model, name, None), property):
        optional = parameter.kind is Parameter.KEYWORD_ONLY and parameter.default is not Parameter.empty
        return {} if optional else {name: ask.value()}
    value = value_of(getattr(ask, name))
    return {} if value is None and parameter.default is not Parameter.empty else {name: value}
