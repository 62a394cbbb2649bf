"""The short form of ``scripts/attack``: what can be held to without a clock on the wall."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.attack.__main__ import PAGE, RESULTS, with_table
from tests.attack.attacks import answers_refused, dearest_request, uploads_refused
from tests.attack.victim import Victim


@pytest.fixture(scope="module")
def victim(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Victim]:
    """An own copy of the service."""
    attacked = Victim(Path(__file__).parents[2], tmp_path_factory.mktemp("attacked"))
    yield attacked
    attacked.stop()


def test_an_anonymous_request_buys_a_second_of_a_processor_at_most(victim: Victim):
    """Processor time, which other programs on the machine do not change."""
    found = dearest_request(
        victim, ("fragments doubled 20 times", "one field 370 times", "the schema 12 times")
    )
    assert found.value <= 1.0, found


def test_no_upload_is_refused_by_sockets_that_trickle(victim: Victim):
    assert uploads_refused(victim, tries=2).value == 0


def test_pages_and_health_are_answered_under_two_hundred_sockets_that_trickle(victim: Victim):
    assert answers_refused(victim, tries=1).value == 0


def test_the_page_shows_the_figures_that_were_measured():
    page = PAGE.read_text(encoding="utf-8")
    assert with_table(page, json.loads(RESULTS.read_text(encoding="utf-8"))) == page
