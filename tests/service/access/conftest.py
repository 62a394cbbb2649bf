from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime

import pytest
from sqlalchemy import Connection, Engine, create_engine, event

from service.store import access_tables
from service.store.metadata import metadata

NOW = datetime(2026, 5, 4, 9, 30, tzinfo=UTC)

TABLES = [
    access_tables.accounts,
    access_tables.password_links,
    access_tables.sessions,
    access_tables.client_links,
    access_tables.session_links,
    access_tables.api_tokens,
    access_tables.attempts,
]


@pytest.fixture
def engine(tmp_path) -> Iterator[Engine]:
    engine = create_engine(f"sqlite:///{tmp_path}/access.db")

    @event.listens_for(engine, "connect")
    def _checks(connection, _record):
        connection.execute("PRAGMA foreign_keys=ON")

    metadata.create_all(engine, tables=TABLES)
    yield engine
    engine.dispose()


@pytest.fixture
def connection(engine) -> Iterator[Connection]:
    with engine.begin() as connection:
        yield connection
