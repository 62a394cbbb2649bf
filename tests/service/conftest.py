"""What the rooms of the service share: a PostgreSQL server from its package."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from itertools import count

import pytest
import sqlalchemy as sa

from service.store.engine import Database
from service.store.migrating import upgrade
from tests.parts.database_server import DatabaseServer


@pytest.fixture(scope="session")
def postgres_server() -> Iterator[Callable[[str], str]]:
    """A running server: gives the URL of one of its databases by name."""
    server = DatabaseServer(None, "fsync=off")  # nothing here outlives the run
    server.start()
    yield server.url
    server.remove()


@pytest.fixture(scope="session")
def postgres_template(postgres_server) -> str:
    """Name of a database that is migrated and empty."""
    engine = sa.create_engine(postgres_server("postgres"), isolation_level="AUTOCOMMIT")
    with engine.connect() as connection:
        connection.execute(sa.text("CREATE DATABASE slatproof_template"))
    engine.dispose()
    database = Database(postgres_server("slatproof_template"))
    upgrade(database)
    database.close()
    return "slatproof_template"


_numbers = count(1)


@pytest.fixture
def postgres_url(postgres_server, postgres_template) -> str:
    """The URL of a migrated, empty database of this test's own."""
    name = f"test_{next(_numbers)}"
    engine = sa.create_engine(postgres_server("postgres"), isolation_level="AUTOCOMMIT")
    with engine.connect() as connection:
        connection.execute(sa.text(f"CREATE DATABASE {name} TEMPLATE {postgres_template}"))
    engine.dispose()
    return postgres_server(name)
