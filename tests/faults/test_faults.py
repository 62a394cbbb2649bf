"""The short form: a round over each shape, with the mishaps that lose most when something is wrong."""

from __future__ import annotations

import random

import pytest

from tests.faults.rounds import Found, over_large, over_small
from tests.parts.small import can_mount


def one_round(monkeypatch: pytest.MonkeyPatch, *names: str) -> Found:
    """A round with just these mishaps, in this order."""
    monkeypatch.setattr("tests.faults.rounds._draw", lambda _known, _dice: list(names))
    return Found()


def test_nothing_is_lost_by_one_process_on_sqlite(tmp_path, monkeypatch):
    disk = ["disk full"] if can_mount() else ["disk read-only"]
    found = one_round(monkeypatch, "service killed", *disk)
    over_small(tmp_path, 1, random.Random(1), found)
    assert (found.rounds, found.orders, found.losses) == (
        1,
        5,
        [],
    )  # one, one with each mishap, one who meets it
    assert all(found.met.values()), found.refused_by


@pytest.mark.postgres
@pytest.mark.s3
def test_nothing_is_lost_by_many_processes_on_postgres_and_s3(tmp_path, monkeypatch):
    found = one_round(monkeypatch, "worker killed", "database killed")
    over_large(tmp_path, 1, random.Random(1), found)
    assert (found.rounds, found.orders, found.losses) == (1, 4, [])
    assert found.met["database killed"]
