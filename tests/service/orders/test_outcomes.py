"""Outcomes counted: shares with their intervals, the factor of times with its spread.

Wilson's interval: 1 of 41 gives 0.0043 to 0.1260 (computed from the score's formula in closed form; R's
``prop.test(1, 41, correct=FALSE)`` rounds to the same, from memory). Student's t at 3 degrees of freedom, 97.5 %: 3.182
(any table).
"""

from __future__ import annotations

from datetime import UTC, datetime
from math import exp, log, sqrt

import pytest

from service.orders.outcomes import ItemOutcome, Outcome, Predicted, experience, predicted_of, wilson

AT = datetime(2027, 5, 1, tzinfo=UTC)


def said(outcome=Outcome.FINE, land=2.2, across=True, minutes=None, told=10.0, kinds=()):
    predicted = Predicted(1.9, land, across, kinds, told)
    return ItemOutcome("o", "1-1-1-a", "d", outcome, None, None, "", minutes, predicted, AT, "Wren")


def test_a_share_has_wilson_s_interval():
    n, x, z = 41, 1, 1.959964
    half = z * sqrt(x / n * (1 - x / n) / n + z * z / 4 / n / n) / (1 + z * z / n)
    middle = (x / n + z * z / 2 / n) / (1 + z * z / n)
    assert wilson(1, 41) == pytest.approx((middle - half, middle + half))
    assert wilson(1, 41) == pytest.approx((0.0043, 0.1260), abs=5e-5)
    assert wilson(0, 0) == (0.0, 1.0)
    assert wilson(0, 10)[0] == 0.0 and wilson(10, 10)[1] == pytest.approx(1.0)


def test_lands_are_counted_by_width_and_direction():
    outcomes = [said() for _ in range(40)] + [said(Outcome.BROKE), said(land=1.4, across=False)]
    groups = {group.words: group for group in experience(outcomes, 1.0).groups}
    assert "lands of 2.0 to 2.4 mm across the grain: 1 of 41 broke" in groups
    assert groups["lands of 2.0 to 2.4 mm across the grain: 1 of 41 broke"].low == pytest.approx(
        0.0043, abs=5e-5
    )
    assert "lands of 1.3 to 1.6 mm along the grain: 0 of 1 broke" in groups
    found = experience([said(Outcome.FADED, kinds=("tip",)), said(kinds=("tip",))], 1.0)
    assert any("remark “tip”: 1 of 2 faded" in group.words for group in found.groups)


def test_times_give_a_factor_with_its_spread_and_nothing_from_two():
    assert experience([said(minutes=12.0)] * 2, 1.0).time is None
    ratios = [1.1, 1.3, 1.2, 1.4]
    time = experience([said(minutes=10 * ratio) for ratio in ratios], 1.5).time
    logs = [log(ratio) for ratio in ratios]
    mean = sum(logs) / 4
    sd = sqrt(sum((each - mean) ** 2 for each in logs) / 3)
    assert time.factor == pytest.approx(exp(mean), abs=1e-3)
    assert time.high == pytest.approx(exp(mean + 3.182 * sd / 2), abs=2e-3)
    assert time.spread == pytest.approx(exp(sd), abs=1e-3)
    assert time.time_scale == pytest.approx(1.5 * exp(mean), abs=2e-3)
    proposals = experience([said(minutes=10 * ratio) for ratio in ratios], 1.5).proposals
    assert any("factor of times" in each for each in proposals)


def test_what_was_predicted_comes_of_the_check():
    check = {
        "figures": {"least_line": 2.0, "least_land": 2.3, "least_land_required": 2.4, "minutes": 7.0},
        "findings": [{"kind": "tip", "severity": "warns"}, {"kind": "line", "severity": "stops"}],
    }
    assert predicted_of(check) == Predicted(2.0, 2.3, True, ("tip",), 7.0)
    assert predicted_of({}) == Predicted(None, None, False, (), None)
