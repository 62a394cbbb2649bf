from __future__ import annotations

from collections.abc import Iterator

import pytest

from .world import CannedCompute, HereCompute, World, make_sqlite_world, make_world


@pytest.fixture
def world(tmp_path) -> Iterator[World]:
    """With an engine that is stood in for: for the rules about its answers."""
    world = make_sqlite_world(tmp_path, CannedCompute())
    yield world
    world.database.close()


@pytest.fixture
def real_world(tmp_path) -> Iterator[World]:
    """With the real engine."""
    world = make_sqlite_world(tmp_path, HereCompute())
    yield world
    world.database.close()


@pytest.fixture(params=["sqlite", pytest.param("postgres", marks=pytest.mark.postgres)])
def either_world(request, tmp_path) -> Iterator[World]:
    """Like ``world``, once on SQLite and once on PostgreSQL."""
    if request.param == "sqlite":
        made = make_sqlite_world(tmp_path, CannedCompute())
    else:
        made = make_world(request.getfixturevalue("postgres_url"), CannedCompute(), prepare=False)
    yield made
    made.database.close()
