"""The carving truth: verdicts at the size where they turn, held against the judge on its grid.

``python -m tests.judging`` does so for 300 cases and prints every one; here are as many as a bench can wait for.
"""

from __future__ import annotations

from dataclasses import replace

from artwork.axis import study
from artwork.findings import check
from tests.bench.harness import Measured, case
from tests.judging.__main__ import summary
from tests.judging.flips import cases, held, sized
from tests.judging.ground import Ground

FLIPS = 60
ROOMY = 24
MARGIN = 0.1


@case(issue=15, name="losses at the flip that were not told", n=f"{FLIPS} cases", target=0)
def untold() -> Measured:
    """The note tells how near the sizes are as well."""
    found = [held(each) for each in cases(FLIPS)]
    return Measured(0.0, figure=sum(bool(each.unsafe) for each in found), note="; ".join(summary(found)))


@case(
    issue=15,
    name="whole with 10 % margin: one remark or none",
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
