from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime

import pytest
from sqlalchemy import Connection, Engine, create_engine, event, insert

from service.store import access_tables, tables
from service.store.metadata import metadata

NOW = datetime(2026, 5, 4, 9, 30, tzinfo=UTC)

TABLES = [
    access_tables.accounts,
    access_tables.password_links,
    access_tables.sessions,
    access_tables.client_links,
    access_tables.session_links,
    access_tables.api_tokens,
    access_tables.token_uses,
    access_tables.attempts,
    access_tables.second_factors,
    tables.workshops,
]


@pytest.fixture
def engine(tmp_path) -> Iterator[Engine]:
    engine = create_engine(f"sqlite:///{tmp_path}/access.db")

    @event.listens_for(engine, "connect")
    def _checks(connection, _record):
        connection.execute("PRAGMA foreign_keys=ON")

    metadata.create_all(engine, tables=TABLES)
    settings = {"revision": 1, "allowances": {}, "usual_bit": "v60", "retention_days": 365, "created_at": NOW}
    with engine.begin() as connection:
        for key in ("w1", "w2"):
            connection.execute(insert(tables.workshops).values(id=key, key=key, name=key, **settings))
    yield engine
    engine.dispose()


@pytest.fixture
def connection(engine) -> Iterator[Connection]:
    with engine.begin() as connection:
        yield connection
