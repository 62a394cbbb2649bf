"""A shop's own numbers: how well the fit of a test board tells the truth.

``SLATPROOF_SHOPS`` sets how many simulated shops are looked at (500 for the whole study).
"""

from __future__ import annotations

import os
import time
from functools import cache

from tests.bench.harness import Measured, case
from tests.numbers.shops import Tried, tried

SHOPS = int(os.environ.get("SLATPROOF_SHOPS", "500"))
N = f"{SHOPS} shops"


@cache
def looked_at() -> tuple[Tried, float]:
    """What became of them, and the seconds for one."""
    begun = time.perf_counter()
    found = tried(SHOPS)
    return found, (time.perf_counter() - begun) / SHOPS


@case(issue=21, name="test board: 95 % intervals that hold the truth", n=N, target=0.93, sense="at least")
def coverage() -> Measured:
    found, seconds = looked_at()
    worst = min(found.told, key=lambda key: found.held[key] / found.told[key])
    note = f"least: {worst}, {found.held[worst]} of {found.told[worst]}"
    return Measured(seconds, figure=found.coverage, unit="share", note=note)


@case(issue=21, name="test board: proposals that are unsafe", n=N, target=0.01)
def unsafe() -> Measured:
    found, seconds = looked_at()
    return Measured(
        seconds, figure=found.unsafe["any"] / found.shops, unit="share", note=str(dict(found.unsafe))
    )
