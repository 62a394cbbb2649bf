from __future__ import annotations

from collections.abc import Callable, Iterator

import pytest
import sqlalchemy as sa

from service.backup.place import Place
from service.maintenance import let_go
from service.root import Service, build
from service.settings import Settings
from service.store.migrating import upgrade
from tests.service.usecases.conftest import either_world  # noqa: F401 - a shop full of orders on either database
from tests.service.usecases.world import CannedCompute, World, make_sqlite_world


def place_of(service: Service) -> Place:
    return Place(service.database, service.ctx.blobs, service.ctx, service.migrate)


def place_in(world: World) -> Place:
    return Place(world.database, world.blobs, world.ctx, lambda: upgrade(world.database))


@pytest.fixture
def world(tmp_path) -> Iterator[World]:
    world = make_sqlite_world(tmp_path, CannedCompute())
    yield world
    world.database.close()


@pytest.fixture
def empty_places(request, tmp_path) -> Iterator[Callable[[str], Place]]:
    """Makes an empty place on SQLite or on PostgreSQL, with files in a folder."""
    made: list[Service] = []

    def make(kind: str) -> Place:
        settings = Settings(data=tmp_path / f"place-{len(made)}")
        if kind == "postgres":
            settings = replace_settings(settings, database=request.getfixturevalue("empty_postgres_url"))
        made.append(build(settings))
        return place_of(made[-1])

    yield make
    for service in made:
        let_go(service)


def replace_settings(settings: Settings, **changes: object) -> Settings:
    return Settings(**(settings.model_dump() | changes))


@pytest.fixture
def empty_postgres_url(postgres_server, request) -> str:
    name = f"empty_{abs(hash(request.node.nodeid)) % 10**12}"
    engine = sa.create_engine(postgres_server("postgres"), isolation_level="AUTOCOMMIT")
    with engine.connect() as connection:
        connection.execute(sa.text(f"CREATE DATABASE {name}"))
    engine.dispose()
    return postgres_server(name)
