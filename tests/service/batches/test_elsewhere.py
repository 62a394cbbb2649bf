"""Exports of the same order on machines of other time zones and languages are the same bytes."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.service.batches.elsewhere import ZONES, exported, languages


@pytest.fixture(scope="module")
def here(tmp_path_factory: pytest.TempPathFactory) -> tuple[str, ...]:
    """What is exported in the plainest of places."""
    return exported("UTC", "POSIX", tmp_path_factory.mktemp("plain")).digests


def test_in_another_time_zone(here, tmp_path: Path):
    assert exported(ZONES[1], "C.UTF-8", tmp_path).digests == here


def test_in_another_time_zone_and_language(here, tmp_path: Path):
    found = languages(tmp_path, ["tr_TR"])
    if not found:
        pytest.skip("no localedef with the sources of languages on this machine")
    made = exported(ZONES[0], found[0], tmp_path)
    assert made.decimal_point == ","  # the language is really in force
    assert made.digests == here
