"""The cast is brought together once."""

from __future__ import annotations

import pytest

from tests.access.cast import Cast, assemble
from tests.running import Running


@pytest.fixture(scope="session")
def cast(running: Running) -> Cast:
    return assemble(running)
