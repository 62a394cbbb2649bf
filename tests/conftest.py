"""Settings that every test shares."""

from __future__ import annotations

import os
from collections.abc import Iterator
from typing import Any

import pytest
from hypothesis import settings
from sqlalchemy import delete

from service.store.access_tables import attempts
from tests.running import running  # noqa: F401 - a fixture of every room that goes through a door
from tests.scheduling import WholeFiles, rank

# One profile: the same examples every run, so that a red test is red for everyone; more of them on demand.
settings.register_profile("shared", derandomize=True, deadline=None, max_examples=60, print_blob=True)
settings.register_profile("long", deadline=None, max_examples=2000)
settings.load_profile(os.environ.get("SLATPROOF_HYPOTHESIS", "shared"))


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Files that take long come first: none of them is left to one process when the other has nothing more to do."""
    items.sort(key=lambda item: rank(item.nodeid))


def pytest_xdist_make_scheduler(config: pytest.Config, log: Any) -> WholeFiles | None:
    """Who hands out files where several processes test."""
    return WholeFiles(config, log) if config.getvalue("dist") == "loadfile" else None


@pytest.fixture(autouse=True)
def nobody_waits_for_another_test(request: pytest.FixtureRequest) -> Iterator[None]:
    """Tests share one running service and one maker: no test may use up another's sign-ins."""
    yield
    if "running" in request.fixturenames:
        service = request.getfixturevalue("running").service
        with service.ctx.store.writing() as connection:
            connection.execute(delete(attempts))
