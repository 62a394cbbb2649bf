"""The one table catalogue, and the column types that behave the same on SQLite and PostgreSQL."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime
from typing import Any

from sqlalchemy import JSON, DateTime, Dialect, MetaData, String
from sqlalchemy.types import TypeDecorator

# Named constraints, so that a migration can find them on either database.
metadata = MetaData(
    naming_convention={
        "ix": "ix_%(column_0_N_label)s",
        "uq": "uq_%(table_name)s_%(column_0_N_name)s",
        "ck": "ck_%(table_name)s_%(constraint_name)s",
        "fk": "fk_%(table_name)s_%(column_0_N_name)s_%(referred_table_name)s",
        "pk": "pk_%(table_name)s",
    }
)


ID = String(40)
DIGEST = String(64)
KEY = String(64)
STATE = String(16)
JSON_VALUE = JSON(none_as_null=True)


def _from_text(stored: str | None) -> datetime | None:
    return None if stored is None else datetime.fromisoformat(stored + "+00:00")


class Instant(TypeDecorator[datetime]):
    """A moment in UTC. Aware datetimes in, aware datetimes out; SQLite itself would drop the zone."""

    impl = DateTime(timezone=True)
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:  # noqa: ARG002
        """To UTC; a moment without a zone is a fault of the caller."""
        if value is None:
            return None
        if value.tzinfo is None:
            raise ValueError("a stored moment needs a time zone; use datetime.now(UTC)")
        return value.astimezone(UTC)

    def result_processor(self, dialect: Dialect, coltype: object) -> Callable[[Any], Any] | None:
        """On SQLite straight from the text that is stored: a page reads hundreds of moments."""
        return _from_text if dialect.name == "sqlite" else super().result_processor(dialect, coltype)

    def process_result_value(self, value: datetime | None, dialect: Dialect) -> datetime | None:  # noqa: ARG002
        """From UTC, with its zone."""
        if value is None:
            return None
        return value.replace(tzinfo=UTC) if value.tzinfo is None else value.astimezone(UTC)
