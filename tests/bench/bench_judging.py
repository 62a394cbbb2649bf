"""The carving truth: verdicts at the size where they turn, held against the judge on its grid."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np

from artwork.axis import study
from artwork.findings import check
from tests.bench.harness import Measured, case
from tests.judging.__main__ import WITHIN, summary
from tests.judging.flips import Held, cases, held, sized
from tests.judging.ground import Ground

FLIPS = 300
ROOMY = 40
MARGIN = 0.1


@cache
def flips() -> tuple[Held, ...]:
    return tuple(held(each) for each in cases(FLIPS))


@case(issue=15, name="losses at the flip that were not told", n=f"{FLIPS} cases", target=0)
def untold() -> Measured:
    found = flips()
    return Measured(0.0, figure=sum(bool(each.unsafe) for each in found), note="; ".join(summary(found)))


@case(
    issue=15,
    name="flip sizes within 3 % (lines) and 5 % (lands)",
    n=f"{FLIPS} cases",
    target=95,
    sense="at least",
)
def near() -> Measured:
    found = flips()
    good = [each.size is not None and abs(each.size - 1) <= WITHIN[each.of] for each in found]
    return Measured(0.0, figure=100 * float(np.mean(good)), unit="%")


@case(
    issue=15,
    name="whole with 10 % margin, told 'carves' or one remark",
    n=f"{ROOMY} cases",
    target=90,
    sense="at least",
)
def told_to_carve() -> Measured:
    """Art 15 % above its flip, on the flat; those that the judge finds whole with that margin."""
    good = seen = 0
    for each in cases(ROOMY, 5000):
        larger = sized(each.cut, 1.15 * each.cut.placement.scale)
        roomy = replace(larger, placement=replace(larger.placement, x=0.0, y=150.0))
        if Ground(roomy, sizes=(0.85, 1.05)).whole(share=MARGIN):
            found = check(roomy, study(roomy.outline))
            good += found.verdict != "will-not-carve" and len(found.findings) <= 1
            seen += 1
    return Measured(0.0, figure=100 * good / max(seen, 1), unit="%", note=f"{seen} whole with that margin")
