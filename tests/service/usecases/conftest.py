from __future__ import annotations

from collections.abc import Iterator

import pytest

from .world import World, make_sqlite_world


@pytest.fixture
def world(tmp_path) -> Iterator[World]:
    world = make_sqlite_world(tmp_path)
    yield world
    world.database.close()
