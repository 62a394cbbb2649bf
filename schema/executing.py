"""Executing within the budget, and without ceremony where a field is only read off a value.

Lists are counted as they turn out, whatever was expected of their length. Nine of ten fields of a page are plain: a
scalar or choice that is read off its object. Those are read in one step; anything unusual about one (no value where
there must be one, a value of another type) goes the library's way, which knows how to say so.
"""

from __future__ import annotations

from collections.abc import Callable, Sized
from typing import Any

from graphql import (
    GraphQLEnumType,
    GraphQLError,
    GraphQLField,
    GraphQLNonNull,
    GraphQLObjectType,
    GraphQLResolveInfo,
    GraphQLScalarType,
    Undefined,
)
from graphql.pyutils import Path
from strawberry.schema.schema import StrawberryGraphQLCoreExecutionContext

from schema.budget import BUDGET, too_costly
from schema.reading import field_of

_AS_IT_IS: dict[str, type] = {"String": str, "ID": str, "Int": int, "Float": float, "Boolean": bool}
"""Scalars whose values of that very type go out as they are."""
Read = Callable[[Any], Any]


class Executor(StrawberryGraphQLCoreExecutionContext):
    """The library's, which stops where the lists of one operation come to more than its budget."""

    _spent = 0

    def __init__(self, *args: Any, **named: Any) -> None:
        """Nothing is planned yet."""
        super().__init__(*args, **named)
        self._plans: dict[int, tuple[Any, dict[str, Read | None]]] = {}

    def execute_fields(
        self,
        parent_type: GraphQLObjectType,
        source_value: Any,
        path: Path | None,
        grouped_field_set: Any,
        position_context: Any,
    ) -> Any:
        """The fields of one object: the plain ones read off it, the others as the library does."""
        plan = self._plan(parent_type, grouped_field_set)
        results: dict[str, Any] = {}
        slow: dict[str, Any] = {}
        for name, read in plan.items():
            results[name] = found = Undefined if read is None else read(source_value)
            if found is Undefined:
                slow[name] = grouped_field_set[name]
        if not slow:
            return results
        rest = super().execute_fields(parent_type, source_value, path, slow, position_context)
        if isinstance(rest, dict):
            return _together(results, rest)
        return _later(results, rest)

    def _plan(self, parent: GraphQLObjectType, fields: Any) -> dict[str, Read | None]:
        kept = self._plans.get(id(fields))
        if kept is None:  # the fields are kept with it, so that no others get their address meanwhile
            reads = {name: self._reader(parent, details) for name, details in fields.items()}
            self._plans[id(fields)] = kept = (fields, reads)
        return kept[1]

    def _reader(self, parent: GraphQLObjectType, details: Any) -> Read | None:
        field = parent.fields.get(details[0].node.name.value)
        return None if field is None else plain_reader(field)

    def complete_list_value(
        self,
        return_type: Any,
        field_details_list: Any,
        info: GraphQLResolveInfo[Any],
        path: Any,
        result: Any,
        *more: Any,
    ) -> Any:
        """Complete a list. Raises GraphQLError where there is no budget left for its items."""
        if isinstance(result, Sized) and not info.parent_type.name.startswith("__"):
            self._spent += len(result) * _asked_of_each(info)
            if self._spent > BUDGET:
                raise self._too_costly()
        return super().complete_list_value(return_type, field_details_list, info, path, result, *more)

    @staticmethod
    def _too_costly() -> GraphQLError:
        return too_costly(
            f"There is more here than one operation may ask for, {BUDGET:,} units: ask for less at once."
        )


def plain_reader(field: GraphQLField) -> Read | None:
    """What reads a plain field off its object, ``Undefined`` where something about it is unusual.

    ``None`` for a field with a resolver of its own, with arguments, or of another kind.
    """
    ours = field.extensions.get("strawberry-definition")
    if ours is None or field.args or ours.base_resolver is not None or not ours.is_basic_field:
        return None
    must = isinstance(field.type, GraphQLNonNull)
    kind: Any = field.type.of_type if isinstance(field.type, GraphQLNonNull) else field.type
    nothing = Undefined if must else None
    name = ours.python_name
    if isinstance(kind, GraphQLEnumType):
        return _choice_reader(name, kind, nothing)
    wanted = _AS_IT_IS.get(kind.name) if isinstance(kind, GraphQLScalarType) else None
    return None if wanted is None else _scalar_reader(name, wanted, nothing)


def _scalar_reader(name: str, wanted: type, nothing: Any) -> Read:
    def read(source: Any) -> Any:
        found = field_of(source, name)
        if found is None:
            return nothing
        return found if type(found) is wanted else Undefined

    return read


def _choice_reader(name: str, kind: GraphQLEnumType, nothing: Any) -> Read:
    names = {str(getattr(value.value, "value", value.value)): key for key, value in kind.values.items()}

    def read(source: Any) -> Any:
        found = field_of(source, name)
        return nothing if found is None else names.get(str(found), Undefined)

    return read


def _together(results: dict[str, Any], rest: dict[str, Any]) -> dict[str, Any]:
    """Both, in the order of the query; what the library left out is left out."""
    results.update(rest)
    return {name: value for name, value in results.items() if value is not Undefined}


async def _later(results: dict[str, Any], rest: Any) -> dict[str, Any]:
    return _together(results, await rest)


def _asked_of_each(info: GraphQLResolveInfo[Any]) -> int:
    nodes = (each.selection_set for each in info.field_nodes)
    return 1 + sum(len(each.selections) for each in nodes if each is not None)
