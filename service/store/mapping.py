"""Rows as values and values as rows, made from the definition of the value.

A field is the column of its name. Enums are stored by value, tuples as lists, value types as JSON objects of their
fields; what is stored otherwise is told to :class:`Rows`. A value type that has columns of its own (an order's contact)
has them under its field's name: ``contact_email``.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass, is_dataclass
from datetime import date, datetime
from enum import Enum
from functools import cache
from typing import Any, Generic, TypeVar, cast, get_origin

from sqlalchemy import Boolean, Column, CursorResult, Date, Float, ForeignKey, Integer, Row, String, Text

from service.orders.definition import Defined, Trait, defined
from service.store.metadata import ID, JSON_VALUE, KEY, STATE, Instant
from service.store.stored_json import NOT_READ

T = TypeVar("T")
V = TypeVar("V")
AnyRow = Row[Any]
_LONGEST_COLUMN = 255
"""Longer texts have no limit in the database; theirs is checked before."""
_PLAIN = {int: Integer, float: Float(53), bool: Boolean, date: Date, datetime: Instant}


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
    if get_origin(field.kind) is tuple:
        return JSON_VALUE
    return _PLAIN[field.kind]


Read = Callable[[AnyRow], Any]
Write = Callable[[Any], Mapping[str, Any]]


@dataclass(frozen=True)
class Some(Generic[T]):
    """How values are read of which only some fields are asked for; the others hold ``NOT_READ``.

    Attributes:
        columns: to be selected, in this order.
        values: the values that such rows hold.
    """

    columns: tuple[str, ...]
    values: Callable[[Iterable[Sequence[Any]]], list[T]]


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
        self.value: Callable[[AnyRow], T] = _compiled(kind, known, special)
        """The value that a row holds."""
        self._writers = {**{name: _flat_write(name) for name in flat}, **(write or {})}
        self._names = tuple(known)
        self._known, self._special = known, frozenset(special)
        self._some: dict[frozenset[str], Some[T]] = {}

    def values(self, rows: Iterable[AnyRow]) -> list[T]:
        """The values of several rows."""
        value = self.value
        return [value(row) for row in (rows.all() if isinstance(rows, CursorResult) else rows)]

    def some(self, names: frozenset[str]) -> Some[T] | None:
        """How to read these fields alone; ``None`` where one is stored otherwise than in the column of its name."""
        if not names <= self._known.keys() - self._special:
            return None
        if names not in self._some:
            self._some[names] = _partly(self._kind, self._known, tuple(sorted(names)))
        return self._some[names]

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


def _compiled(kind: Any, known: Mapping[str, Defined], special: Mapping[str, Read]) -> Any:
    """A function of a row, written out as one would by hand: thousands of rows are read for a page."""
    named: dict[str, Any] = {}
    given = []
    for name, field in known.items():
        reader = special.get(name) or _reader(field)
        held = "row" if name in special else f"row.{name}"
        given.append(f"{name!r}: {held}" if reader is None else f"{name!r}: read_{name}({held})")
        named[f"read_{name}"] = reader
    return _making(kind, eval(f"lambda row: {{{', '.join(given)}}}", named))  # noqa: S307 - of names of our own fields


def _making(kind: Any, fields: Callable[[AnyRow], dict[str, Any]]) -> Any:
    """What makes a value of all its fields at once: a frozen dataclass would set one after the other."""
    if hasattr(kind, "__post_init__"):
        return lambda row: kind(**fields(row))

    def value(row: AnyRow) -> Any:
        made = object.__new__(kind)
        made.__dict__.update(fields(row))
        return made

    return value


def _partly(kind: type[T], known: Mapping[str, Defined], names: tuple[str, ...]) -> Some[T]:
    """What was not read stands in a class of its own, once: a value holds what was."""
    partial = type(kind.__name__, (kind,), dict.fromkeys(known, NOT_READ))

    def holding(fields: dict[str, Any]) -> Any:
        made: Any = object.__new__(partial)
        object.__setattr__(made, "__dict__", fields)
        return made

    named: dict[str, Any] = {f"read_{name}": _reader(known[name]) for name in names}
    given = (
        f"{name!r}: {f'row[{place}]' if named[f'read_{name}'] is None else f'read_{name}(row[{place}])'}"
        for place, name in enumerate(names)
    )
    every = f"lambda rows: [holding({{{', '.join(given)}}}) for row in rows]"
    return Some(names, eval(every, {**named, "holding": holding}))  # noqa: S307 - as above


def _reader(field: Defined) -> Callable[[Any], Any] | None:
    """What makes a field's value of what is stored; ``None`` where it is stored as it is."""
    kind: Any = field.kind
    if get_origin(kind) is tuple:
        read: Callable[[Any], Any] = tuple
    elif isinstance(kind, type) and issubclass(kind, Enum):
        read = _choice_reader(kind)
    elif is_dataclass(kind):
        anything: Any = kind
        read = _object_reader(anything)
    else:
        return None
    return (lambda stored: None if stored is None else read(stored)) if field.nullable else read


class _Choices(dict[Any, Any]):
    """A choice's values by what is stored of them."""

    def __init__(self, kind: Any) -> None:
        super().__init__((each.value, each) for each in kind)
        self._kind = kind

    def __missing__(self, stored: Any) -> Any:
        return self._kind(stored)


@cache
def _choice_reader(kind: Any) -> Callable[[Any], Any]:
    """As calling the enum, several times as fast; what it does not know is left to it to refuse."""
    return _Choices(kind).__getitem__


@cache
def _object_reader(kind: Any) -> Callable[[Mapping[str, Any]], Any]:
    readers = {name: _reader(field) for name, field in defined(kind).items()}

    def read(stored: Mapping[str, Any]) -> Any:
        """What a newer version knows besides is left out."""
        return kind(
            **{
                name: each if (reader := readers[name]) is None else reader(each)
                for name, each in stored.items()
                if name in readers
            }
        )

    return read


def from_json(kind: type[V], stored: Mapping[str, Any]) -> V:
    """A value type from the JSON object it is stored as."""
    anything: Any = kind
    made: V = _object_reader(anything)(stored)
    return made


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
    given = ", ".join(f"{name}=row.{field.name}_{name}" for name in defined(kind))
    read: Read = eval(f"lambda row: kind({given})", {"kind": kind})  # noqa: S307 - of names of our own fields
    return read


def _flat_write(field: str) -> Write:
    return lambda value: {f"{field}_{name}": held for name, held in asdict(value).items()}
