"""A shop's own numbers: how well the fit of a test board tells the truth, and the check a good program from a bad one.

``SLATPROOF_SHOPS`` sets how many simulated shops are looked at (500 for the whole study), ``SLATPROOF_PROGRAMS`` how
many good programs (200).
"""

from __future__ import annotations

import os
import time
from functools import cache

from tests.artwork.program.signed import paths, signed
from tests.artwork.program.toolpaths import written
from tests.bench.harness import Measured, case
from tests.own_numbers.corpus import false_alarms, good, missed, spoiled
from tests.own_numbers.shops import Tried, tried

SHOPS = int(os.environ.get("SLATPROOF_SHOPS", "500"))
N = f"{SHOPS} shops"
PROGRAMS = int(os.environ.get("SLATPROOF_PROGRAMS", "200"))
MOVES = 200_000


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


@case(issue=21, name="program check: false alarms", n=f"{PROGRAMS} good programs", target=0)
def alarms() -> Measured:
    begun = time.perf_counter()
    found, count = false_alarms(good(PROGRAMS))
    seconds = (time.perf_counter() - begun) / count
    return Measured(seconds, figure=len(found), unit="programs", note=f"of {count}; {'; '.join(found)[:400]}")


@case(issue=21, name="program check: spoiled programs that pass", n="every kind", target=0)
def passed() -> Measured:
    begun = time.perf_counter()
    found, count = missed(spoiled())
    seconds = (time.perf_counter() - begun) / count
    return Measured(seconds, figure=len(found), unit="programs", note=f"of {count}; {'; '.join(found)[:400]}")


@case(issue=21, name="program check: read and compare", n=f"{MOVES:,} moves", target=3.0)
def speed() -> Measured:
    from artwork.program import compare, read_program

    once = written(paths(level=0.06))
    body = once[3:-2]
    lines = [*once[:3], *(body * (MOVES // len(body) + 1))[:MOVES], *once[-2:]]
    begun = time.perf_counter()
    found = compare(read_program(lines), signed())
    return Measured(time.perf_counter() - begun, note=found.outcome)
