from __future__ import annotations

from collections.abc import Iterator

import pytest

from .world import CannedCompute, HereCompute, World, make_sqlite_world


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
