"""A selection that only reads values at hand, as one function of the object it is of.

The library resolves and completes each field of each object by itself. Where nothing below a field is computed, asked
of the store, or given arguments, all of it is put together here in one go instead. ``Undefined`` stands for anything
unusual (no value where there must be one, a value of another type, something not loaded): the field then goes the
library's way, which knows how to say so.
"""

from __future__ import annotations

import inspect
from collections.abc import Callable, Mapping
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
from schema.reading import Loaded, getter, is_object, loaded_by

_AS_IT_IS: dict[str, type] = {"String": str, "ID": str, "Int": int, "Float": float, "Boolean": bool}
"""Scalars whose values of that very type go out as they are."""
_LISTS = (list, tuple)
_READER = "slatproof_reader"
Read = Callable[[Any], Any]


class Planner:
    """Makes the functions of one operation.

    Args:
        graph: where what is loaded lies.
        collected: type and places of a field → what is asked for below it, ``None`` where part of it may come later.
        count: told of every list, how long it is and where it stands; false once that is too much.
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
        """What reads a field off its object; ``None`` where it has to be resolved."""
        name = places[0].node.name.value
        if name == "__typename":
            return lambda _: parent.name
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
        return lambda source: complete(give(source))

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
        key_of, ready = getter(by.key), self._graph.ready(loader)

        def give(source: Any) -> Any:
            key = key_of(source)
            return None if key is None else ready.get(key, Undefined)

        return give

    def _complete(self, kind: Any, places: Any) -> Read | None:
        """What makes a value's answer; ``None`` where that has to be left to the library."""
        if isinstance(kind, GraphQLNonNull):
            return self._nullable(kind.of_type, places, Undefined)
        return self._nullable(kind, places, None)

    def _nullable(self, kind: Any, places: Any, nothing: Any) -> Read | None:
        complete = self._whole(kind, places)
        if complete is None:
            return None
        return lambda value: nothing if value is None else complete(value)

    def _whole(self, kind: Any, places: Any) -> Read | None:
        if isinstance(kind, GraphQLList):
            return self._list(kind.of_type, places)
        if isinstance(kind, GraphQLObjectType):
            return self._object(kind, places)
        return leaf(kind)

    def _list(self, kind: Any, places: Any) -> Read | None:
        complete, count = self._complete(kind, places), self._count
        if complete is None:
            return None

        def answer(values: Any) -> Any:
            # What is no plain list (a promise, a generator) is left to the library, as is one that costs too much.
            if type(values) not in _LISTS or not count(len(values), places):
                return Undefined
            made = []
            for value in values:
                found = complete(value)
                if found is Undefined:
                    return Undefined
                made.append(found)
            return made

        return answer

    def _object(self, kind: GraphQLObjectType, places: Any) -> Read | None:
        asked = self._collected(kind, places)
        if asked is None:
            return None
        reads: list[tuple[str, Read]] = []
        for name, below in asked.items():
            read = self.field(kind, below)
            if read is None:
                return None
            reads.append((name, read))

        def answer(source: Any) -> Any:
            if source is Undefined:
                return Undefined
            made: dict[str, Any] = {}
            for name, read in reads:
                made[name] = found = read(source)
                if found is Undefined:
                    return Undefined
            return made

        return answer


def plain_reader(field: GraphQLField) -> Read | None:
    """As :func:`_plain_reader`, made once for each field of the schema."""
    if _READER not in field.extensions:
        field.extensions[_READER] = _plain_reader(field)
    found: Read | None = field.extensions[_READER]
    return found


def _plain_reader(field: GraphQLField) -> Read | None:
    """What reads a plain field off its object: a scalar or choice that is an attribute.

    ``None`` for a field with a resolver of its own, with arguments, or of another kind.
    """
    ours = field.extensions.get("strawberry-definition")
    if ours is None or field.args or ours.base_resolver is not None or not ours.is_basic_field:
        return None
    must = isinstance(field.type, GraphQLNonNull)
    kind: Any = field.type.of_type if isinstance(field.type, GraphQLNonNull) else field.type
    if isinstance(kind, GraphQLScalarType) and kind.name not in _AS_IT_IS:
        return None
    nothing = Undefined if must else None
    wanted = _AS_IT_IS.get(kind.name) if isinstance(kind, GraphQLScalarType) else None
    if wanted is not None:
        return _scalar_reader(ours.python_name, wanted, nothing)
    complete = leaf(kind)
    if complete is None:
        return None
    get = getter(ours.python_name)

    def read(source: Any) -> Any:
        found = get(source)
        return nothing if found is None else complete(found)

    return read


def _scalar_reader(name: str, wanted: type, nothing: Any) -> Read:
    """As reading and completing one after the other: most of a page is these."""

    def read(source: Any) -> Any:
        found = source.get(name) if is_object(type(source)) else getattr(source, name)
        if type(found) is wanted:
            return found
        return nothing if found is None else Undefined

    return read


def leaf(kind: Any) -> Read | None:
    """What makes the answer of a scalar or choice; ``None`` for other types."""
    if isinstance(kind, GraphQLEnumType):
        names = {str(getattr(value.value, "value", value.value)): key for key, value in kind.values.items()}
        return lambda found: names.get(str(found), Undefined)
    if not isinstance(kind, GraphQLScalarType):
        return None
    wanted = _AS_IT_IS.get(kind.name)
    if wanted is not None:
        return lambda found: found if type(found) is wanted else Undefined
    coerce = kind.coerce_output_value

    def serialised(found: Any) -> Any:
        given = Undefined if found is Undefined else coerce(found)
        return Undefined if given is None else given

    return serialised


def _direct(ours: Any) -> Read | None:
    """What gives a field's value: its attribute, or a resolver that looks at nothing but the object."""
    if ours.permission_classes or ours.extensions:
        return None
    if ours.base_resolver is None:
        return getter(ours.python_name) if ours.is_basic_field else None
    function = ours.base_resolver.wrapped_func
    if inspect.iscoroutinefunction(function) or len(inspect.signature(function).parameters) != 1:
        return None
    resolver: Read = function
    return resolver
