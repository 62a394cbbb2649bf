"""Executing within the budget, and without ceremony where a field is only read off a value.

Lists are counted as they turn out, whatever was expected of their length. Nine of ten fields of a page are read off
values at hand; those are put together by ``schema.planning``.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sized
from typing import Any

from graphql import FieldNode, GraphQLError, GraphQLObjectType, GraphQLResolveInfo, OperationType, Undefined
from graphql.pyutils import Path
from strawberry.schema.schema import StrawberryGraphQLCoreExecutionContext

from schema.budget import BUDGET, too_costly
from schema.context import Graph
from schema.planning import Objects, Planner, Read


class Executor(StrawberryGraphQLCoreExecutionContext):
    """The library's, but what is at hand is read in one go, and lists may not come to more than the budget."""

    _spent = 0

    def __init__(self, *args: Any, **named: Any) -> None:
        """Nothing is planned yet."""
        super().__init__(*args, **named)
        self._plans: dict[int, tuple[Any, dict[str, Read | None]]] = {}
        self._prices: dict[int, int] = {}
        graph: Graph = self.context_value
        if self.operation.operation is OperationType.QUERY and graph.connection.scope["type"] == "http":
            graph.look_once()
        self._planner = Planner(self.context_value, self._collected, self._counted)

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
            results[name] = found = Undefined if read is None else self._read(read, source_value)
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
            reads = {name: self._planner.field(parent, places) for name, places in fields.items()}
            self._plans[id(fields)] = kept = (fields, reads)
        return kept[1]

    def _read(self, read: Read, source: Any) -> Any:
        """``Undefined`` where anything about it is unusual; what it was told to count is then forgotten again."""
        spent = self._spent
        try:
            return read(Objects([source]))[0]
        except Exception:  # noqa: BLE001 - the library meets it again, and says what and where
            self._spent = spent
            return Undefined

    def _collected(self, kind: GraphQLObjectType, places: Any) -> Mapping[str, Any] | None:
        fields, later, _ = self.collect_subfields(kind, places)
        return None if later else fields

    def _counted(self, length: int, places: Any) -> bool:
        price = self._prices.get(id(places))
        if price is None:
            price = self._prices[id(places)] = _asked_of_each(each.node for each in places)
        self._spent += length * price
        return self._spent <= BUDGET

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
            self._spent += len(result) * _asked_of_each(info.field_nodes)
            if self._spent > BUDGET:
                raise self._too_costly()
        return super().complete_list_value(return_type, field_details_list, info, path, result, *more)

    @staticmethod
    def _too_costly() -> GraphQLError:
        return too_costly(
            f"There is more here than one operation may ask for, {BUDGET:,} units: ask for less at once."
        )


def _together(results: dict[str, Any], rest: dict[str, Any]) -> dict[str, Any]:
    """Both, in the order of the query; what the library left out is left out."""
    results.update(rest)
    return {name: value for name, value in results.items() if value is not Undefined}


async def _later(results: dict[str, Any], rest: Any) -> dict[str, Any]:
    return _together(results, await rest)


def _asked_of_each(places: Iterable[FieldNode]) -> int:
    nodes = (each.selection_set for each in places)
    return 1 + sum(len(each.selections) for each in nodes if each is not None)
