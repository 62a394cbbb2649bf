"""Rows as values and values as rows, made from the definition of the value.

A field is the column of its name. Enums are stored by value, tuples as lists, value types as JSON objects of their
fields; what is stored otherwise is told to :class:`Rows`. A value type that has columns of its own (an order's contact)
has them under its field's name: ``contact_email``.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import asdict, is_dataclass
from datetime import date, datetime
from enum import Enum
from typing import Any, Generic, TypeVar, cast, get_origin

from sqlalchemy import Boolean, Column, Date, ForeignKey, Integer, Row, String, Text

from service.orders.definition import Defined, Trait, defined
from service.store.metadata import ID, KEY, STATE, Instant

T = TypeVar("T")
AnyRow = Row[Any]
_LONGEST_COLUMN = 255
"""Longer texts have no limit in the database; theirs is checked before."""
_PLAIN = {int: Integer, bool: Boolean, date: Date, datetime: Instant}


def columns_of(
    kind: type[Any], names: Mapping[str, str] | None = None, prefix: str = ""
) -> list[Column[Any]]:
    """The columns of a value type.

    Args:
        kind: a frozen dataclass whose fields are plain values, or value types of plain values.
        names: field → the column it refers to.
    """
    made: list[Column[Any]] = []
    for name, field in defined(kind).items():
        if is_dataclass(field.kind):
            made += columns_of(cast("type[Any]", field.kind), prefix=f"{prefix}{name}_")
            continue
        refers = [ForeignKey(names[name])] if names and name in names else []
        primary = not prefix and name == "id"
        made.append(
            Column(f"{prefix}{name}", _type_of(field), *refers, primary_key=primary, nullable=field.nullable)
        )
    return made


def _type_of(field: Defined) -> Any:
    if Trait.ID in field.traits:
        return ID
    if Trait.KEY in field.traits:
        return KEY
    if isinstance(field.kind, type) and issubclass(field.kind, Enum):
        return STATE
    if field.kind is str:
        short = field.longest is not None and field.longest <= _LONGEST_COLUMN
        return String(field.longest) if short and Trait.LINES not in field.traits else Text()
    return _PLAIN[field.kind]


Read = Callable[[AnyRow], Any]
Write = Callable[[Any], Mapping[str, Any]]


class Rows(Generic[T]):
    """Reads values of one type from rows, and gives what is stored of them.

    Args:
        kind: a frozen dataclass.
        flat: fields whose value type has columns of its own.
        read: field → how it is read from the row, where not from the column of its name.
        write: field → its columns, where not the one of its name.
    """

    def __init__(
        self,
        kind: type[T],
        *,
        flat: Iterable[str] = (),
        read: Mapping[str, Read] | None = None,
        write: Mapping[str, Write] | None = None,
    ) -> None:
        self._kind = kind
        known = defined(kind)
        special = {**{name: _flat_read(known[name]) for name in flat}, **(read or {})}
        self._special = tuple(special.items())
        self._plain = tuple(
            (name, _reader(field, from_json)) for name, field in known.items() if name not in special
        )
        self._writers = {**{name: _flat_write(name) for name in flat}, **(write or {})}
        self._names = tuple(known)

    def value(self, row: AnyRow) -> T:
        """The value that a row holds."""
        given = {
            name: getattr(row, name) if read is None else read(getattr(row, name))
            for name, read in self._plain
        }
        for name, whole in self._special:
            given[name] = whole(row)
        return self._kind(**given)

    def values(self, rows: Iterable[AnyRow]) -> list[T]:
        """The values of several rows."""
        return [self.value(row) for row in rows]

    def row(self, value: T, **more: Any) -> dict[str, Any]:
        """Column → what is stored, and ``more`` columns beside."""
        stored: dict[str, Any] = {}
        for name in self._names:
            held, write = getattr(value, name), self._writers.get(name)
            if write is None:
                stored[name] = to_json(held)
            else:
                stored.update(write(held))
        return stored | more


def _reader(field: Defined, from_json: Callable[[Any, Any], Any]) -> Callable[[Any], Any] | None:
    kind = field.kind
    if not _changes(kind):
        return None
    return lambda stored: None if stored is None else from_json(kind, stored)


def _changes(kind: Any) -> bool:
    """Whether values of this type are stored as something else."""
    return (
        get_origin(kind) is tuple or is_dataclass(kind) or (isinstance(kind, type) and issubclass(kind, Enum))
    )


def from_json(kind: Any, stored: Any) -> Any:
    """A value of this type from the plain value it is stored as."""
    if get_origin(kind) is tuple:
        return tuple(stored)
    if is_dataclass(kind):
        fields = defined(cast("type[Any]", kind))
        readers = {name: _reader(fields[name], from_json) for name in stored if name in fields}
        return cast("type[Any]", kind)(
            **{name: stored[name] if read is None else read(stored[name]) for name, read in readers.items()}
        )
    return kind(stored)


def to_json(value: Any) -> Any:
    """The plain value that a value is stored as; dates and moments stay what they are."""
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, tuple | frozenset):
        return [to_json(each) for each in value]
    if is_dataclass(value) and not isinstance(value, type):
        return {name: to_json(held) for name, held in asdict(value).items()}
    return dict(value) if isinstance(value, Mapping) else value


def _flat_read(field: Defined) -> Read:
    kind = cast("type[Any]", field.kind)
    names = {name: f"{field.name}_{name}" for name in defined(kind)}
    return lambda row: kind(**{name: getattr(row, column) for name, column in names.items()})


def _flat_write(field: str) -> Write:
    return lambda value: {f"{field}_{name}": held for name, held in asdict(value).items()}
