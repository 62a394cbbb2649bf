"""The simulation of hosts against queueing theory (Kleinrock, Queueing Systems I, 1975, §3.2)."""

from __future__ import annotations

import pytest

from tests.load import hosts


def test_one_core_and_single_pieces_wait_as_theory_says(monkeypatch):
    """M/M/1: the time in the system is exponential with rate μ − λ, so half of it is under ln 2 / (μ − λ)."""
    monkeypatch.setattr(hosts, "PIECES_PER_ORDER", 1)
    shops = 20_000
    rate, service = hosts.orders_a_second(shops), 1 / hosts.PIECE_SECONDS
    found = hosts.simulate(shops, 1, seconds=20_000)
    assert found.used == pytest.approx(rate / service, rel=0.05)
    assert found.half == pytest.approx(0.6931 / (service - rate), rel=0.1)
    assert found.most == pytest.approx(2.9957 / (service - rate), rel=0.1)


def test_more_cores_are_needed_as_shops_grow_and_no_more_than_their_work():
    few, many = hosts.cores_for(1_000), hosts.cores_for(8_000)
    work = hosts.orders_a_second(8_000) * hosts.PIECES_PER_ORDER * hosts.PIECE_SECONDS
    assert few == 1 and work < many <= work + 4
