"""Queries about versions that were worked out."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from datetime import datetime
from functools import cache
from typing import Any

from pydantic import TypeAdapter
from sqlalchemy import Connection, delete, exists, insert, select

from service.orders.versions import VersionSet
from service.store.sharing import asked_once
from service.store.tables import carvings, proofs, readings
from service.store.version_tables import version_files, version_sets

_BESIDE = ("workshop_id", "key", "outline", "made_at")
"""What is stored beside the JSON."""
_AT_ONCE = 400


def keep_set(connection: Connection, found: VersionSet) -> None:
    """Store what was worked out, in place of a first part of it; not where another worker was faster."""
    named = {"workshop_id": found.workshop_id, "key": found.key}
    for each in sets_by_keys(connection, found.workshop_id, [found.key]):
        if each.whole or (not found.whole and len(each.versions) >= len(found.versions)):
            return
    _delete(connection, found.workshop_id, [found.key])
    plain = _adapter().dump_python(found, mode="json", exclude=set(_BESIDE))
    row = named | {"outline": found.outline, "found": plain, "made_at": found.made_at}
    connection.execute(insert(version_sets).values(row))
    connection.execute(insert(version_files), [named | {"digest": each} for each in sorted(found.files())])


@asked_once
def sets_by_keys(connection: Connection, workshop_id: str, keys: Sequence[str]) -> list[VersionSet]:
    """What was worked out for these questions."""
    return [
        _adapter().validate_python({**row.found, **{name: getattr(row, name) for name in _BESIDE}})
        for row in _rows(connection, workshop_id, keys)
    ]


def _rows(connection: Connection, workshop_id: str, keys: Sequence[str]) -> Sequence[Any]:
    query = select(version_sets).where(
        version_sets.c.workshop_id == workshop_id, version_sets.c.key.in_(keys)
    )
    return connection.execute(query).all()


def delete_of_outlines(connection: Connection, workshop_id: str, outlines: Collection[str]) -> frozenset[str]:
    """Forget what was worked out for outlines that no art of any order names any more; the files it named."""
    files: set[str] = set()
    unnamed = [
        ~exists().where(column == version_sets.c.outline)
        for column in (readings.c.outline, carvings.c.outline, carvings.c.kept_outline, proofs.c.outline)
    ]
    each = sorted(outlines)
    for start in range(0, len(each), _AT_ONCE):
        some = version_sets.c.outline.in_(each[start : start + _AT_ONCE])
        query = select(version_sets.c.key).where(version_sets.c.workshop_id == workshop_id, some, *unnamed)
        files |= _delete(connection, workshop_id, list(connection.scalars(query)))
    return frozenset(files)


def delete_older(connection: Connection, before: datetime) -> None:
    """Forget what was worked out before then: it can be worked out again."""
    connection.execute(delete(version_sets).where(version_sets.c.made_at < before))


def _delete(connection: Connection, workshop_id: str, keys: Iterable[str]) -> frozenset[str]:
    files: set[str] = set()
    for key in keys:
        this = (version_files.c.workshop_id == workshop_id) & (version_files.c.key == key)
        files |= set(connection.scalars(select(version_files.c.digest).where(this)))
        connection.execute(
            delete(version_sets).where(version_sets.c.workshop_id == workshop_id, version_sets.c.key == key)
        )
    return frozenset(files)


@cache
def _adapter() -> TypeAdapter[VersionSet]:
    return TypeAdapter(VersionSet)
