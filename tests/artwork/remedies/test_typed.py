"""Every number of every cure of real art, typed in as told, carves; a smaller change does not.

Art: lucide (ISC), tabler (MIT), bootstrap-icons (MIT), mdi (Apache-2.0), Debian's openclipart-svg (public
domain), letters of Lobster and Great Vibes (OFL-1.1). ``scripts/bench`` does the same on 60 refused cuts.
"""

from __future__ import annotations

import pytest

from artwork.axis import study
from artwork.findings import check
from artwork.remedies import remedies
from artwork.remedies.told import at_the_least, at_the_most, growth
from seeds.shop import load
from tests.artwork.remedies.refused import refused
from tests.artwork.remedies.typed import UNITS, carried_out, numbers, smaller_change

CASES = list(refused(6, seed=5))
BITS = load().bits


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.name)
def test_every_number_typed_in_carves(case):
    for remedy in remedies(case.cut, case.anatomy, case.slats, BITS):
        for unit in UNITS:
            for widest in (False, True) if "widest" in numbers(remedy.sentence) else (False,):
                typed = carried_out(case.cut, remedy, unit, case.slats, BITS, widest=widest)
                judged = check(typed, study(typed.outline))
                assert judged.verdict != "will-not-carve", (remedy.sentence, unit, judged.sentence)


def test_a_smaller_change_is_not_enough():
    """At least nine of ten: a dead end or a fleck may come and go with the size."""
    carved = []
    for case in CASES:
        for remedy in remedies(case.cut, case.anatomy, case.slats, BITS):
            for _, numbers_set in smaller_change(case.cut, remedy):
                typed = carried_out(case.cut, remedy, "mm", case.slats, BITS, numbers_set)
                carved.append(check(typed, study(typed.outline)).verdict != "will-not-carve")
    assert len(carved) >= 10
    assert sum(carved) <= len(carved) / 10


class TestTold:
    def test_marks_of_a_rule_never_below_the_least(self):
        told = at_the_least(29.63, 60.0)
        assert told is not None
        assert told.words == "29.7 mm (1 11/64 in)"
        assert told.inches * 25.4 >= 29.63

    def test_never_above_the_most(self):
        told = at_the_most(20.0, 29.63)
        assert told is not None
        assert told.words == "29.6 mm (1 5/32 in)"

    def test_a_narrow_span_is_told_in_finer_numbers(self):
        """No tenth of a millimetre and no mark of a rule lies within 29.63 to 29.66."""
        told = at_the_least(29.63, 29.66)
        assert told is not None
        assert (told.mm, told.inch_words) == (29.63, "1.167")
        assert 29.63 <= told.inches * 25.4 <= 29.66

    def test_no_number_at_all_within_a_point(self):
        assert at_the_least(29.63171, 29.63171) is None

    def test_growth_is_told_to_a_hundredth(self):
        told = growth(0.391, 0.5)
        assert told is not None
        assert told.words == "0.40 mm (0.016 in)"
