"""A small part of the corpus of programs; the whole of it is a bench (``scripts/bench --issue 21 --only program``)."""

from __future__ import annotations

from itertools import islice

from tests.own_numbers.corpus import false_alarms, good, missed, spoiled


def test_good_programs_pass_however_they_are_written():
    alarms, count = false_alarms(good(3))
    assert count == 4 and not alarms


def test_spoiled_programs_are_found():
    through, count = missed(islice(spoiled(), 0, None, 12))
    assert count >= 4 and not through
