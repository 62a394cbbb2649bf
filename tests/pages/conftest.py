from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

import pytest
from playwright.sync_api import Browser

from tests.pages.browsing import Person, chromium, person
from tests.running import Running


@pytest.fixture(scope="module")  # while it runs, no other loop can in this thread
def browser() -> Iterator[Browser]:
    with chromium() as started:
        yield started


@pytest.fixture
def somebody(browser: Browser, running: Running) -> Iterator[Callable[..., Person]]:
    """Makes people; when the test ends nothing may have gone wrong in their browsers unnoticed."""
    people: list[Person] = []

    def make(**kind: Any) -> Person:
        people.append(person(browser, running.url, **kind))
        return people[-1]

    yield make
    errors = [error for one in people for error in one.watched.errors]
    strangers = [url for one in people for url in one.watched.strangers]
    for one in people:
        one.leave()
    assert errors == []
    assert strangers == []
