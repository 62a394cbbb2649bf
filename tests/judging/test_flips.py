"""A few flip cases of ``python -m tests.judging``: nothing lost that was not told, sizes within what is aimed at."""

from __future__ import annotations

import pytest

from tests.judging.__main__ import WITHIN
from tests.judging.flips import cases, held


@pytest.mark.parametrize("first", [101, 350, 475])
def test_at_the_size_where_the_verdict_turns_the_wood_agrees(first):
    (case,) = cases(1, first)
    found = held(case)
    assert found.unsafe == ""
    assert found.size is not None
    assert found.size == pytest.approx(1.0, abs=WITHIN[found.of])
