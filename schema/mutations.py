"""Everything that changes something: made from the table of operations of the REST door."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from inspect import Parameter, Signature
from typing import Annotated, Any

import strawberry

from schema.attempt import attempt
from schema.context import Info
from schema.inputs import UNSET, checked, input_of, taken_as, told
from schema.outcomes import Refusals
from schema.successes import SUCCESSES
from service.orders.actors import Actor
from service.rest.meaning import meaning_of
from service.rest.operation import Operation
from service.rest.scopes import who_may
from service.rest.table import OPERATIONS
from service.rest.use import ONCE, REVISIONS, Does, path_part
from service.usecases.commands import IdempotencyKey
from service.usecases.context import Context

_ONCE_KEY = "once_key"
_WORKSHOP = "workshop"
_ONCE_WORDS = (
    "Your own text, good for one call of this mutation within 24 hours: the same call again gives the first answer "
    "and does nothing."
)
_CAPITAL = re.compile(r"(?<!^)(?=[A-Z])")
_PART = re.compile(r"{(\w+)}")


@dataclass(frozen=True)
class _Argument:
    """One argument of a mutation.

    Attributes:
        part: of the path, at the REST door.
        field: of the body there.
        body: it is all of the body.
    """

    name: str
    kind: Any
    words: str = ""
    optional: bool = False
    part: str = ""
    field: str = ""
    body: bool = False

    @property
    def parameter(self) -> Parameter:
        """As strawberry reads it."""
        kind = Annotated[self.kind, strawberry.argument(description=self.words)] if self.words else self.kind
        default = UNSET if self.optional else Parameter.empty
        return Parameter(self.name, Parameter.KEYWORD_ONLY, annotation=kind, default=default)


def mutation_type() -> type:
    """The type of all mutations."""
    given = {
        _CAPITAL.sub("_", operation.name).lower(): _mutation(operation)
        for operation in OPERATIONS
        if operation.graph is not None
    }
    words = {"__doc__": "Everything that changes something."}
    return strawberry.type(type("Mutation", (), words | given))


def _mutation(operation: Operation) -> Any:
    success, does = SUCCESSES[operation.gives], operation.run
    if not isinstance(does, Does):
        raise TypeError(f"{operation.name} has a handler of its own")
    arguments = tuple(_arguments(operation, does))

    async def resolve(info: Info, **sent: Any) -> Any:
        given = {name: value for name, value in sent.items() if value is not UNSET}
        path = {
            each.part: given[each.name]
            for each in arguments
            if each.part and given.get(each.name) is not None
        }
        revision = next((given[name] for name in REVISIONS if name in given), 0)
        key = given.pop(_ONCE_KEY, None)
        keys: list[IdempotencyKey] = []

        def work(ctx: Context, actor: Actor) -> Any:
            ask = (
                None if operation.ask is None else checked(operation.ask, _body(operation, arguments, given))
            )
            if key is not None:
                keys.append(IdempotencyKey(key, meaning_of(operation.name, path, ask)))
            return does.use(ctx, actor, **does.arguments(path, revision, next(iter(keys), None), ask))

        done = await attempt(info.context, work, path.get(_WORKSHOP))
        if isinstance(done, Refusals):
            return done
        given_back = success.of(info.context, done)
        if operation.once:
            given_back.replayed = any(each.replay.happened for each in keys)
        return given_back

    parameters = [Parameter("info", Parameter.POSITIONAL_OR_KEYWORD, annotation=Info)]
    parameters += [each.parameter for each in arguments]
    signature = Signature(parameters, return_annotation=success.outcome)
    resolve.__signature__ = signature  # type: ignore[attr-defined]
    resolve.__annotations__ = {each.name: each.annotation for each in parameters}
    return strawberry.mutation(resolver=resolve, description=_words(operation))


def _words(operation: Operation) -> str:
    may = who_may(operation.name, open_to_all=operation.open or operation.public)
    return " ".join(filter(None, (operation.does, operation.more, may)))


def _arguments(operation: Operation, does: Does) -> Iterator[_Argument]:
    path = dict.fromkeys(_PART.findall(operation.path))
    if operation.public:
        yield _Argument(_WORKSHOP, str, "Its public key.", part=_WORKSHOP)
    asked = {} if operation.ask is None else operation.ask.model_fields
    for parameter in does.parameters:
        name, part = parameter.name, path_part(parameter.name, path)
        if name in REVISIONS:
            yield _Argument(name, int)
        elif name == ONCE:
            yield _Argument(_ONCE_KEY, str | None, _ONCE_WORDS, optional=True)
        elif part is not None:
            yield _Argument(name, strawberry.ID if name.endswith("_id") else str, part=part)
        elif operation.ask is None:
            part = name.removesuffix("_id")
            yield _Argument(name, strawberry.ID | None, "Left out: all of them.", optional=True, part=part)
    if operation.graph:
        yield _Argument(operation.graph, input_of(operation.ask), body=True)
        return
    for name, field in asked.items():
        optional = not field.is_required()
        yield _Argument(name, taken_as(name, field), told(field), optional=optional, field=name)


def _body(operation: Operation, arguments: tuple[_Argument, ...], given: Mapping[str, Any]) -> Any:
    """The body as the REST door would take it."""
    if operation.ask is None or operation.graph:
        return next(given[each.name] for each in arguments if each.body)
    return {each.field: given[each.name] for each in arguments if each.field and each.name in given}
