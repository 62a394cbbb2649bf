"""How many rows there are, without walking through all of a long list."""

from __future__ import annotations

from typing import Any

from sqlalchemy import ColumnElement, Connection, FromClause, Select, func, literal, select

COUNTED = 10_000
"""More than so many are not counted: then there are that many or more."""


def count_up(connection: Connection, matching: Select[Any]) -> int:
    """How many rows a query finds, at most :data:`COUNTED`."""
    return int(connection.scalar(select(func.count()).select_from(matching.limit(COUNTED).subquery())) or 0)


def count_of(connection: Connection, table: FromClause, condition: ColumnElement[bool]) -> int:
    """How many rows of a table meet a condition, at most :data:`COUNTED`."""
    return count_up(connection, select(literal(1)).select_from(table).where(condition))
