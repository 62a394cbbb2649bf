"""Lanes: whose work goes where, and what a bell does. How the engine draws by lot is its own affair (its documentation
on partitioned queues: https://docs.dbos.dev/python/tutorials/queue-tutorial)."""

from __future__ import annotations

import threading
from itertools import pairwise

import pytest

from service.work.lanes import HOUSE, PATIENT_LANE, QUICK, RUSH, SLOW, lanes, most_at_once, options_of
from service.work.pollers import Bell, pause
from tests.waiting import until


@pytest.mark.parametrize(
    ("kind", "payload", "lane", "whose", "priority"),
    [
        ("prove", {"workshop": "a", "turn": 0}, QUICK, "a", 1),
        ("read-artwork", {"workshop": "a", "turn": 0}, QUICK, "a", 2),
        ("prove", {"workshop": "b", "turn": 3}, RUSH, "b", 7),
        ("prove", {"workshop": "b", "turn": 3, "patient": True}, PATIENT_LANE, "b", 7),
        ("batch", {"workshop": "a", "turn": 0}, SLOW, "a", None),
        ("housekeeping", {}, SLOW, HOUSE, None),
    ],
)
def test_work_goes_into_its_lane_and_counts_for_its_workshop(kind, payload, lane, whose, priority):
    options = options_of(kind, "name", payload)
    assert (options["queue_name"], options["queue_partition_key"]) == (lane, whose)
    assert options.get("priority") == priority


@pytest.mark.parametrize("processors", [1, 2, 16])
def test_one_workshop_leaves_places_for_others_in_the_quick_lane(processors):
    quick = lanes(processors, 1, 1)[0]
    assert quick.of_one == processors, "alone it has the whole machine"
    assert quick.places - quick.of_one >= processors, "and the others as much"
    assert most_at_once(processors) == 3 * processors + 3


def test_a_bell_wakes_its_waiter_and_remembers_a_ring_that_came_before():
    bell, woken = Bell(60, lambda: False), []
    assert bell.wait(60) is False, "what was asked for before is looked for at once"
    bell.ring()
    assert bell.wait(60) is False, "rung before anybody waited"
    waiter = threading.Thread(target=lambda: woken.append(bell.wait(60)))
    waiter.start()
    bell.ring()
    until(lambda: woken == [False])
    waiter.join()
    bell.end()
    assert bell.wait(60) is True
    assert bell.is_set()


def test_looks_grow_rarer_after_a_ring_and_none_comes_much_too_late():
    at, looks = 0.0, [0.0]
    while (wait := pause(0.1, at, None)) is not None:
        at += wait
        looks.append(at)
    assert len(looks) < 25, "not a hundred, as many as there are tenths of a second"
    gaps = [(later - earlier, earlier) for earlier, later in pairwise(looks)]
    assert all(gap <= max(0.1, 0.25 * earlier) + 1e-9 for gap, earlier in gaps)
    assert looks[-1] >= 10
    assert pause(0.1, 10.0, 10.0) == 10.0
