"""Executing within the budget: lists are counted as they turn out, whatever was expected of their length."""

from __future__ import annotations

from collections.abc import Sized
from typing import Any

from graphql import GraphQLError, GraphQLResolveInfo
from strawberry.schema.schema import StrawberryGraphQLCoreExecutionContext

from schema.budget import BUDGET, too_costly


class Executor(StrawberryGraphQLCoreExecutionContext):
    """The library's, which stops where the lists of one operation come to more than its budget."""

    _spent = 0

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


def _asked_of_each(info: GraphQLResolveInfo[Any]) -> int:
    nodes = (each.selection_set for each in info.field_nodes)
    return 1 + sum(len(each.selections) for each in nodes if each is not None)
