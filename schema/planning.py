"""A selection that only reads values at hand, read column by column off all objects it is of.

The library resolves and completes each field of each object by itself. Where nothing below a field is computed, asked
of the store, or given arguments, all of it is put together here in one go instead: a field of a page's three hundred
carvings is one pass over them. Whatever is unusual (no value where there must be one, a value of another type,
something not loaded) raises an error: the field then goes the library's way, which knows how to say so.
"""

from __future__ import annotations

import inspect
from collections.abc import Callable, Mapping
from itertools import accumulate, chain
from operator import attrgetter
from types import NoneType
from typing import Any

from graphql import (
    GraphQLEnumType,
    GraphQLField,
    GraphQLList,
    GraphQLNonNull,
    GraphQLObjectType,
    GraphQLScalarType,
    Undefined,
)

from schema.context import Graph
from schema.preloading import LARGE
from schema.reading import Loaded, is_object, loaded_by

_AS_IT_IS: dict[str, type] = {"String": str, "ID": str, "Int": int, "Float": float, "Boolean": bool}
"""Scalars whose values of that very type go out as they are."""
_LISTS = frozenset({list, tuple})
_NOTHING = frozenset({NoneType, type(Undefined)})
_READER = "slatproof_reader"


class UnusualError(Exception):
    """Something is not as it nearly always is: the library has to answer the field."""


class Objects:
    """Objects of one type of the graph.

    Attributes:
        each: the objects, none of them nothing.
    """

    __slots__ = ("_json", "each")

    def __init__(self, each: list[Any]) -> None:
        """Find out how they are read. Raises UnusualError where not all are read the same way."""
        self.each = each
        ways = {is_object(kind) for kind in set(map(type, each))}
        if len(ways) > 1:
            raise UnusualError
        self._json = True in ways

    def column(self, name: str) -> list[Any]:
        """What each has under a name: see ``schema.reading.field_of``."""
        if self._json:
            return [each.get(name) for each in self.each]
        return list(map(attrgetter(name), self.each))


Read = Callable[[Objects], list[Any]]
"""Objects → the answer of one field of each."""
Complete = Callable[[list[Any]], list[Any]]
"""Values of one type → the answer of each."""


class Planner:
    """Makes the functions of one operation.

    Args:
        graph: where what is loaded lies.
        collected: type and places of a field → what is asked for below it, ``None`` where part of it may come later.
        count: told of lists, how long they are together and where they stand; false once that is too much.
    """

    def __init__(
        self,
        graph: Graph,
        collected: Callable[[GraphQLObjectType, Any], Mapping[str, Any] | None],
        count: Callable[[int, Any], bool],
    ) -> None:
        self._graph = graph
        self._collected = collected
        self._count = count

    def field(self, parent: GraphQLObjectType, places: Any) -> Read | None:
        """What reads a field off its objects; ``None`` where it has to be resolved."""
        name = places[0].node.name.value
        if name == "__typename":
            return lambda objects: [parent.name] * len(objects.each)
        field = parent.fields.get(name)
        if field is None:
            return None
        plain = plain_reader(field)
        if plain is not None:
            return plain
        give = self._giver(field, places)
        complete = None if give is None else self._complete(field.type, places)
        if give is None or complete is None:
            return None
        return lambda objects: complete(give(objects))

    def _giver(self, field: GraphQLField, places: Any) -> Read | None:
        ours = field.extensions.get("strawberry-definition")
        if ours is None or field.args:
            return None
        by = loaded_by(getattr(ours.base_resolver, "wrapped_func", None))
        return _direct(ours) if by is None else self._ready(by, field, places)

    def _ready(self, by: Loaded, field: GraphQLField, places: Any) -> Read | None:
        loader = by.loader
        if not loader:
            asked = self._collected(field.type, places) if isinstance(field.type, GraphQLObjectType) else None
            if asked is None:
                return None
            names = {each[0].node.name.value for each in asked.values()}
            # Checks and facts are most of a proof by far: they are read only where somebody asks for them.
            loader = "brief_proofs" if LARGE.isdisjoint(names) else "proofs"
        key, ready = by.key, self._graph.ready(loader)
        return lambda objects: [None if one is None else ready[one] for one in objects.column(key)]

    def _complete(self, kind: Any, places: Any) -> Complete | None:
        """What makes values' answers; ``None`` where that has to be left to the library."""
        must = isinstance(kind, GraphQLNonNull)
        whole = self._whole(kind.of_type if must else kind, places)
        return None if whole is None else _with_nothing(whole, must=must)

    def _whole(self, kind: Any, places: Any) -> Complete | None:
        if isinstance(kind, GraphQLList):
            return self._list(kind.of_type, places)
        if isinstance(kind, GraphQLObjectType):
            return self._object(kind, places)
        return _leaf(kind, must=True)

    def _list(self, kind: Any, places: Any) -> Complete | None:
        complete, count = self._complete(kind, places), self._count
        if complete is None:
            return None

        def answer(lists: list[Any]) -> list[Any]:
            # What is no plain list (a promise, a generator) is left to the library, as is what costs too much.
            if not _LISTS.issuperset(map(type, lists)):
                raise UnusualError
            lengths = list(map(len, lists))
            if not count(sum(lengths), places):
                raise UnusualError
            made = complete(list(chain.from_iterable(lists)))
            ends = accumulate(lengths)
            return [made[end - length : end] for length, end in zip(lengths, ends, strict=True)]

        return answer

    def _object(self, kind: GraphQLObjectType, places: Any) -> Complete | None:
        asked = self._collected(kind, places)
        if not asked:
            return None
        reads: list[Read] = []
        for below in asked.values():
            read = self.field(kind, below)
            if read is None:
                return None
            reads.append(read)
        names = tuple(asked)

        def answer(values: list[Any]) -> list[Any]:
            objects = Objects(values)
            columns = [read(objects) for read in reads]
            return [dict(zip(names, row, strict=True)) for row in zip(*columns, strict=True)]

        return answer


def _with_nothing(whole: Complete, *, must: bool) -> Complete:
    """As ``whole``, which is told of no value that is nothing."""

    def answer(values: list[Any]) -> list[Any]:
        if NoneType not in set(map(type, values)):
            return whole(values)
        if must:
            raise UnusualError
        made = iter(whole([value for value in values if value is not None]))
        return [None if value is None else next(made) for value in values]

    return answer


def plain_reader(field: GraphQLField) -> Read | None:
    """As :func:`_plain_reader`, made once for each field of the schema."""
    if _READER not in field.extensions:
        field.extensions[_READER] = _plain_reader(field)
    found: Read | None = field.extensions[_READER]
    return found


def _plain_reader(field: GraphQLField) -> Read | None:
    """What reads a plain field off its objects: a scalar or choice that is an attribute.

    ``None`` for a field with a resolver of its own, with arguments, or of another kind.
    """
    ours = field.extensions.get("strawberry-definition")
    if ours is None or field.args or ours.base_resolver is not None or not ours.is_basic_field:
        return None
    must = isinstance(field.type, GraphQLNonNull)
    kind: Any = field.type.of_type if isinstance(field.type, GraphQLNonNull) else field.type
    if isinstance(kind, GraphQLScalarType) and kind.name not in _AS_IT_IS:
        return None
    complete, name = _leaf(kind, must=must), ours.python_name
    return None if complete is None else lambda objects: complete(objects.column(name))


def _leaf(kind: Any, *, must: bool) -> Complete | None:
    """What makes the answers of scalars or choices; ``None`` for other types."""
    if isinstance(kind, GraphQLEnumType):
        texts = {str(getattr(value.value, "value", value.value)): key for key, value in kind.values.items()}
        words: dict[Any, Any] = texts if must else {**texts, None: None}
        return lambda values: list(map(words.__getitem__, values))
    if not isinstance(kind, GraphQLScalarType):
        return None
    wanted = _AS_IT_IS.get(kind.name)
    return _serialiser(kind) if wanted is None else _as_they_are({wanted} if must else {wanted, NoneType})


def _as_they_are(wanted: set[type]) -> Complete:
    def answer(values: list[Any]) -> list[Any]:
        if not wanted.issuperset(map(type, values)):
            raise UnusualError
        return values

    return answer


def _serialiser(kind: GraphQLScalarType) -> Complete:
    coerce = kind.coerce_output_value

    def answer(values: list[Any]) -> list[Any]:
        made = list(map(coerce, values))
        if not _NOTHING.isdisjoint(map(type, made)):
            raise UnusualError
        return made

    return answer


def _direct(ours: Any) -> Read | None:
    """What gives a field's values: their attribute, or a resolver that looks at nothing but the object."""
    if ours.permission_classes or ours.extensions:
        return None
    name: str = ours.python_name
    if ours.base_resolver is None:
        return (lambda objects: objects.column(name)) if ours.is_basic_field else None
    function = ours.base_resolver.wrapped_func
    if inspect.iscoroutinefunction(function) or len(inspect.signature(function).parameters) != 1:
        return None
    return lambda objects: list(map(function, objects.each))
