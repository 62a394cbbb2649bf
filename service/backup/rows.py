"""Every row of a database as lines of plain JSON values, and back, on either database.

A table is a line ``{"table": …, "columns": […]}`` followed by one list per row. The tables are read as the
database has them, not as this code would: so a copy made by an earlier version can be loaded by a later one.
"""

from __future__ import annotations

import hashlib
import json
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import UTC, date, datetime
from typing import Any

import sqlalchemy as sa
from sqlalchemy import ColumnElement, Connection, MetaData, Table

_AT_ONCE = 500
Line = Any
"""A table's head (a mapping) or a row (a list)."""


@dataclass
class Tally:
    """What went through: rows of each table, and a digest that does not depend on their order."""

    rows: Counter[str] = field(default_factory=Counter)
    _sum: int = 0

    @property
    def digest(self) -> str:
        """64 hex digits."""
        return f"{self._sum:064x}"

    def over(self, lines: Iterable[Line]) -> Iterator[Line]:
        """The same lines, taken note of."""
        table = ""
        for line in lines:
            if isinstance(line, dict):
                table = line["table"]
            else:
                self.rows[table] += 1
                one = hashlib.sha256(f"{table} {dumps(line)}".encode()).digest()
                self._sum = (self._sum + int.from_bytes(one)) % (1 << 256)
            yield line


def dumps(line: Line) -> str:
    """A line as JSON, the same for the same values."""
    return json.dumps(line, ensure_ascii=False, allow_nan=False, separators=(",", ":"))


Which = Callable[[MetaData], Mapping[str, ColumnElement[bool]]]
"""Of the tables as the database has them: those that are wanted, and which rows of each."""


def lines_of(connection: Connection, names: Iterable[str]) -> Iterator[Line]:
    """Every row of these tables."""
    wanted = dict.fromkeys(names, sa.true())
    return lines_where(connection, lambda _tables: wanted)


def lines_where(connection: Connection, which: Which) -> Iterator[Line]:
    """Some rows of some tables."""
    tables = _tables(connection)
    wanted = which(tables)
    for table in tables.sorted_tables:  # those that others point at first
        if table.name not in wanted:
            continue
        columns = sorted(table.columns, key=lambda column: column.name)
        yield {"table": table.name, "columns": [column.name for column in columns]}
        query = sa.select(*columns).where(wanted[table.name])
        for row in connection.execution_options(yield_per=_AT_ONCE).execute(query):
            yield [_plain(value) for value in row]


def load(connection: Connection, lines: Iterable[Line]) -> None:
    """Store lines in a database whose tables are there and hold none of these rows."""
    tables, waiting = _tables(connection).tables, iter(lines)
    following = next(waiting, None)
    while following is not None:
        table = tables[following["table"]]
        columns: list[str] = following["columns"]
        takes = [_taking(table.columns[name].type) for name in columns]
        following = None
        rows: list[dict[str, Any]] = []
        for line in waiting:
            if isinstance(line, dict):
                following = line
                break
            rows.append({n: take(v) for n, take, v in zip(columns, takes, line, strict=True)})
            if len(rows) == _AT_ONCE:
                _insert(connection, table, rows)
        _insert(connection, table, rows)
        _count_on(connection, table)


def _tables(connection: Connection) -> MetaData:
    """Every table as the database has it."""
    found = MetaData()
    found.reflect(connection)
    return found


def _insert(connection: Connection, table: Table, rows: list[dict[str, Any]]) -> None:
    # One statement for rows alike in what is absent: SQL's NULL is not a JSON value, and cannot be a parameter.
    while rows:
        absent = _absent(rows[0])
        alike = [row for row in rows if _absent(row) == absent]
        rows[:] = [row for row in rows if _absent(row) != absent]
        values = [{n: v for n, v in row.items() if n not in absent} for row in alike]
        connection.execute(sa.insert(table), values)


def _absent(row: dict[str, Any]) -> frozenset[str]:
    return frozenset(name for name, value in row.items() if value is None)


def _count_on(connection: Connection, table: Table) -> None:
    """PostgreSQL counts a table's numbers apart from its rows: go on after the last one."""
    if connection.dialect.name != "postgresql":
        return
    for column in table.primary_key:
        if isinstance(column.type, sa.Integer) and column.server_default is not None:
            last = connection.scalar(sa.select(sa.func.max(column)))
            sequence = sa.func.pg_get_serial_sequence(table.name, column.name)
            connection.execute(sa.select(sa.func.setval(sequence, last or 1, last is not None)))


def _plain(value: Any) -> Any:
    if isinstance(value, datetime):
        return (value.replace(tzinfo=UTC) if value.tzinfo is None else value.astimezone(UTC)).isoformat()
    return value.isoformat() if isinstance(value, date) else value


def _taking(kind: sa.types.TypeEngine[Any]) -> Callable[[Any], Any]:
    for type_, read in ((sa.DateTime, datetime.fromisoformat), (sa.Date, date.fromisoformat)):
        if isinstance(kind, type_):
            return lambda value: None if value is None else read(value)
    return lambda value: value
