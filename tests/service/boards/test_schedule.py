"""Days from minutes: Johnson's order against every order, the calendar by hand, the trade's rule of thumb."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from itertools import permutations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from seeds.shop import load
from service.boards.schedule import Pace, PieceWork, cut_out_minutes, johnson, makespan, piece_work, schedule
from service.orders.errors import InvalidError

PACE = Pace()
MONDAY = date(2027, 3, 1)


def work(machine: float, bench: float, pieces: int = 1, assembly: float = 0.0) -> PieceWork:
    return PieceWork(f"{machine:g}/{bench:g}", pieces, machine, bench, assembly)


def by_the_minute(order: list[PieceWork]) -> float:
    """The two-stage shop simulated as events: who is free when, nothing shared with the module under test."""
    machine_free = bench_free = 0.0
    for one in order:
        ready = machine_free + one.machine
        machine_free = ready
        bench_free = (ready if ready > bench_free else bench_free) + one.bench
    return bench_free


minutes = st.integers(0, 200).map(float)


@given(st.lists(st.tuples(minutes, minutes), min_size=1, max_size=6))
def test_no_other_order_of_pieces_ends_sooner(times):
    works = [work(a, b) for a, b in times]
    best = min(by_the_minute(list(order)) for order in permutations(works))
    assert makespan(johnson(works)) == pytest.approx(best)


@given(st.lists(st.tuples(minutes, minutes, st.integers(0, 5)), min_size=1, max_size=5))
def test_the_shop_is_never_faster_than_either_half_nor_slower_than_one_after_the_other(times):
    works = [work(a, b, n) for a, b, n in times]
    found = schedule(works, PACE, MONDAY)
    assert found.shop_minutes >= max(found.machine_minutes, found.bench_minutes) - 1e-6
    assert found.shop_minutes <= found.machine_minutes + found.bench_minutes + 1e-6
    assert sum(count for _, count in found.sequence) == sum(one.pieces for one in works)


@given(
    st.integers(0, 5000), st.integers(0, 5000), st.integers(0, 3000), st.integers(0, 400), st.integers(0, 6)
)
def test_ready_and_spare_days_agree_with_a_count_of_the_calendar(shop, ahead, assembly, needed_in, off):
    pace = Pace(days_off=frozenset({MONDAY + timedelta(off)}))
    needed = MONDAY + timedelta(needed_in)
    found = schedule(
        [PieceWork("p", 1, 0.0, float(shop), float(assembly))], pace, MONDAY, needed, float(ahead)
    )
    assert pace.works_on(found.ready_on) and pace.works_on(found.starts_on)
    days = [MONDAY + timedelta(k) for k in range((found.ready_on - MONDAY).days + 1)]
    worked = sum(pace.works_on(day) for day in days)
    assert worked * 420 >= ahead + shop + assembly
    # a day less would not do: one day is lost at most between the shop and the assembly
    assert (worked - (2 if assembly else 1)) * 420 <= ahead + shop + assembly
    assert found.holds == (found.ready_on <= needed)
    assert (found.spare_days >= 0) == found.holds
    assert found.work_days >= 1


def test_a_chair_parts_take_about_an_hour_and_a_half_beside_the_machine():
    # common practice, no source: about 1.5 h with the machine running beside; assembly about half an hour
    chair = load().model("fernhollow-chair")
    assert chair.shop_minutes == pytest.approx(90, abs=10)
    assert chair.assembly_minutes == pytest.approx(30, abs=5)
    assert cut_out_minutes(chair.parts, PACE) == pytest.approx(90, abs=15)


def test_thirty_chairs_by_hand():
    chair = load().model("fernhollow-chair")
    one = piece_work(
        chair.name, 30, [20.0], chair.parts, PACE, boards=2.0,
        shop_minutes=chair.shop_minutes, assembly_minutes=chair.assembly_minutes,
    )  # fmt: skip
    waits = 2 * (PACE.load_minutes + 2 * PACE.change_minutes)  # two boards, each with a bed of its own
    machine, bench = 20 + waits + cut_out_minutes(chair.parts, PACE), chair.shop_minutes + waits
    assert one.machine == pytest.approx(machine)
    assert one.bench == bench
    found = schedule([one], PACE, MONDAY, needed_by=date(2027, 3, 31))
    assert found.shop_minutes == pytest.approx(30 * max(machine, bench) + min(machine, bench))
    assert found.assembly_minutes == 900
    shop_days = -(-found.shop_minutes // 420)
    assert found.work_days == shop_days + 3
    assert found.holds and "holds, with" in found.sentence
    late = schedule([one], PACE, MONDAY, needed_by=date(2027, 3, 5))
    assert not late.holds and late.spare_days < 0 and "too late by" in late.sentence


def test_work_that_ends_with_the_day_is_ready_that_day():
    assert schedule([work(0, 420)], PACE, MONDAY).ready_on == MONDAY
    assert schedule([work(0, 420.1)], PACE, MONDAY).ready_on == MONDAY + timedelta(1)
    friday = MONDAY + timedelta(4)
    assert schedule([work(0, 421)], PACE, friday).ready_on == MONDAY + timedelta(7)
    assert schedule([work(0, 100)], PACE, MONDAY, ahead_minutes=420).starts_on == MONDAY + timedelta(1)
    assert schedule([], PACE, MONDAY + timedelta(5)).ready_on == MONDAY + timedelta(7)


def test_the_assumptions_are_stated():
    found = schedule([work(10, 20)], PACE, MONDAY, ahead_minutes=600)
    said = " ".join(found.assumptions)
    for words in ("7 working hours", "5 days a week", "5 min a board", "10.0 hours of other orders"):
        assert words in said
    assert found.holds is None and "Needed" not in found.sentence


@pytest.mark.parametrize(
    "bad", [work(-1, 5), work(5, float("nan")), replace(work(5, 5), pieces=-1), work(5, 5, 1, -3)]
)
def test_minutes_that_make_no_sense_are_refused(bad):
    with pytest.raises(InvalidError, match="make no sense"):
        schedule([bad], PACE, MONDAY)


@pytest.mark.parametrize(
    "figures", [{"day_minutes": 0}, {"cut_feed": -1}, {"weekdays": frozenset()}, {"weekdays": frozenset({9})}]
)
def test_a_pace_that_makes_no_sense_is_refused(figures):
    with pytest.raises(InvalidError, match="working hours"):
        replace(PACE, **figures)


def test_a_shop_that_never_works_is_told_so():
    pace = Pace(weekdays=frozenset({0}), days_off=frozenset(MONDAY + timedelta(7 * k) for k in range(2900)))
    with pytest.raises(InvalidError, match="not enough working days"):
        schedule([work(1, 1)], pace, MONDAY)
