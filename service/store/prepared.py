"""Statements that are asked with nearly every request: compiled once, then given to the driver as they are.

What SQLAlchemy does around a statement that it knows already costs several times what SQLite needs to answer it. The
transaction, what is written how on which database, and errors stay SQLAlchemy's.
"""

from __future__ import annotations

from collections import namedtuple
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from pydantic_core import to_json
from sqlalchemy import ARRAY, Boolean, ColumnElement, Connection, Dialect, Select, String, bindparam
from sqlalchemy.exc import DBAPIError
from sqlalchemy.ext.compiler import compiles
from sqlalchemy.sql.functions import FunctionElement
from sqlalchemy.types import TypeDecorator, TypeEngine

Convert = Callable[[Any], Any] | None


class Texts(TypeDecorator[Sequence[str]]):
    """Texts that are given as one value: an array on PostgreSQL, on SQLite one written as JSON."""

    impl = String
    cache_ok = True

    def load_dialect_impl(self, dialect: Dialect) -> TypeEngine[Any]:
        """What the database takes."""
        return dialect.type_descriptor(ARRAY(String()) if dialect.name == "postgresql" else String())

    def process_bind_param(self, value: Sequence[str] | None, dialect: Dialect) -> Any:
        """As it is given to the driver."""
        return value if dialect.name == "postgresql" else to_json(value).decode()


class _OneOf(FunctionElement[bool]):
    """A column, and a parameter of texts."""

    type = Boolean()
    inherit_cache = True


@compiles(_OneOf)
def _in_json(element: Any, compiler: Any, **how: Any) -> str:
    column, texts = (compiler.process(each, **how) for each in element.clauses)
    return f"{column} IN (SELECT value FROM json_each({texts}))"  # noqa: S608 - of compiled parts


@compiles(_OneOf, "postgresql")
def _in_array(element: Any, compiler: Any, **how: Any) -> str:
    column, texts = (compiler.process(each, **how) for each in element.clauses)
    return f"{column} = ANY ({texts})"


def one_of(column: ColumnElement[str], parameter: str) -> ColumnElement[bool]:
    """That a column's value is among the texts given as ``parameter``, however many there are."""
    return _OneOf(column, bindparam(parameter, type_=Texts()))


class Prepared:
    """A ``SELECT`` whose values are all parameters of one value each.

    Args:
        statement: its columns have different names.
        named: rows name their values as the columns are named; without, they are tuples.
    """

    def __init__(self, statement: Select[Any], *, named: bool = True) -> None:
        self._statement = statement
        self._named = named
        self._ready: dict[str, _Ready] = {}

    def rows(self, connection: Connection, given: Mapping[str, Any]) -> list[Any]:
        """Its rows. Raises sqlalchemy.exc.DBAPIError as ``execute``."""
        ready = self._ready.get(connection.dialect.name)
        if ready is None:
            ready = _Ready.of(self._statement, connection.dialect, named=self._named)
            self._ready[connection.dialect.name] = ready
        return ready.rows(connection, given)

    def one_or_none(self, connection: Connection, given: Mapping[str, Any]) -> Any:
        """Its first row."""
        found = self.rows(connection, given)
        return found[0] if found else None

    def scalar(self, connection: Connection, given: Mapping[str, Any]) -> Any:
        """The first value of its first row; ``None`` where there is no row."""
        found = self.rows(connection, given)
        return found[0][0] if found else None


@dataclass
class _Ready:
    """The statement for one kind of database.

    Attributes:
        text: as the driver takes it.
        names: of the parameters.
        places: parameter → how its value is written; in the order of their places where ``ordered``.
        fixed: values of parameters that are part of the statement.
        row: makes a row of its values.
        kinds: of the columns.
        reads: how each column's value is read; empty before the first answer tells what the driver gives.
    """

    text: str
    names: tuple[str, ...]
    places: tuple[tuple[str, Convert], ...]
    ordered: bool
    fixed: Mapping[str, Any]
    row: Callable[[Sequence[Any]], Any]
    kinds: tuple[Any, ...]
    reads: tuple[tuple[int, Callable[[Any], Any]], ...] | None = None

    @classmethod
    def of(cls, statement: Select[Any], dialect: Dialect, *, named: bool) -> _Ready:
        """Compile it."""
        compiled = statement.compile(dialect=dialect)
        names = tuple((compiled.positiontup if compiled.positional else compiled.bind_names.values()) or ())
        binds = {name: bind for bind, name in compiled.bind_names.items()}
        places = tuple(
            (name, binds[name].type.dialect_impl(dialect).bind_processor(dialect)) for name in names
        )
        fixed = {name: bind.value for name, bind in binds.items() if not bind.required}
        columns = list(statement.selected_columns)
        row: Any = namedtuple("Row", [str(column.key) for column in columns])  # type: ignore[misc]
        kinds = tuple(column.type.dialect_impl(dialect) for column in columns)
        make = row._make if named else tuple
        return cls(str(compiled), names, places, bool(compiled.positional), fixed, make, kinds)

    def rows(self, connection: Connection, given: Mapping[str, Any]) -> list[Any]:
        """See ``Prepared.rows``."""
        if not connection.in_transaction():
            connection.begin()
        values = {**self.fixed, **given} if self.fixed else given
        written = [values[name] if write is None else write(values[name]) for name, write in self.places]
        sent: Any = written if self.ordered else dict(zip(self.names, written, strict=True))
        driver: Any = connection.connection.driver_connection
        cursor = driver.cursor()
        for note in connection.dispatch.before_cursor_execute:  # for whoever watches statements
            note(connection, cursor, self.text, sent, None, False)
        try:
            cursor.execute(self.text, sent)
            found, described = cursor.fetchall(), cursor.description
        except connection.dialect.loaded_dbapi.Error as error:
            raise _told(connection, self.text, error, cursor) from error
        finally:
            cursor.close()
        if self.reads is None:
            self.reads = self._readers(connection.dialect, described)
        return [self.row(self._read(values)) for values in found] if self.reads else [*map(self.row, found)]

    def _readers(
        self, dialect: Dialect, description: Sequence[Sequence[Any]]
    ) -> tuple[tuple[int, Callable[[Any], Any]], ...]:
        readers = (
            kind.result_processor(dialect, told[1])
            for kind, told in zip(self.kinds, description, strict=True)
        )
        return tuple((place, reader) for place, reader in enumerate(readers) if reader is not None)

    def _read(self, values: Sequence[Any]) -> list[Any]:
        read = list(values)
        for place, reader in self.reads or ():
            read[place] = reader(read[place])
        return read


def _told(connection: Connection, text: str, error: Any, cursor: Any) -> BaseException:
    """The driver's error as SQLAlchemy tells it everywhere else; a connection that is over is used no more."""
    dialect = connection.dialect
    raw: Any = connection.connection.dbapi_connection
    over = dialect.is_disconnect(error, raw, cursor)
    if over:
        connection.invalidate(error)
    told: BaseException = DBAPIError.instance(
        text,
        None,
        error,
        dialect.loaded_dbapi.Error,
        hide_parameters=True,
        connection_invalidated=over,
        dialect=dialect,
    )
    return told
