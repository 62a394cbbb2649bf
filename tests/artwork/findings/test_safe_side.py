"""The safe side: whenever a fine simulation shows a line gone or a land broken, the verdict is not 'carves'.

Random cuts near their limits; ``SLATPROOF_SAFE_SIDE`` sets how many (``scripts/bench`` takes 400).
"""

from __future__ import annotations

import os
from collections import Counter

import pytest

from artwork.axis import study
from artwork.findings import check
from tests.artwork.findings.random_art import random_cut
from tests.artwork.findings.simulation import carved

CUTS = int(os.environ.get("SLATPROOF_SAFE_SIDE", "24"))


@pytest.fixture(scope="module")
def outcomes() -> list[tuple[int, str, str, str]]:
    """Number, verdict, and what the simulation shows of lines and lands, for every cut."""
    found = []
    for number in range(CUTS):
        cut = random_cut(number)
        verdict = check(cut, study(cut.outline)).verdict
        shown = carved(cut)
        found.append((number, verdict, shown.lines, shown.lands))
    return found


def test_nothing_that_is_lost_was_said_to_carve(outcomes):
    misses = [row for row in outcomes if row[1] == "carves" and (row[2] or row[3])]
    assert misses == []


def test_the_corpus_holds_both_kinds(outcomes):
    """A corpus in which everything carves, or nothing does, would prove nothing."""
    harmed = Counter(bool(lines or lands) for _, _, lines, lands in outcomes)
    said = Counter(verdict == "carves" for _, verdict, _, _ in outcomes)
    assert min(harmed[True], harmed[False], said[True], said[False]) >= len(outcomes) // 10


def test_few_cuts_are_stopped_without_need(outcomes):
    """Stopped although the simulation, which asks less of lands across the grain, shows no harm."""
    alarms = [row for row in outcomes if row[1] == "will-not-carve" and not (row[2] or row[3])]
    assert len(alarms) <= len(outcomes) * 0.15
