"""How speed and memory are measured: cases, repetition, and what is written down.

A case is a function that returns a :class:`Measured`. Ours and the rival (or the floor) are run in turn,
A B A B …, inside the same case, so that their ratio holds while the machine's speed drifts.

    @case(issue=4, name="mask to findings", n="9 Mpx", target=1.5)
    def mask_to_findings() -> Measured:
        ...
        return compare(lambda: ours(mask), lambda: floor(mask))
"""

from __future__ import annotations

import gc
import resource
import statistics
import time
from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

Sense = Literal["at most", "at least"]


@dataclass(frozen=True)
class Measured:
    """What one case found.

    Attributes:
        ours: seconds (or the unit that ``unit`` names), median.
        rival: the same for the rival or floor; ``None`` where the case has none.
        peak_mb: peak memory of the measured part, MB; ``None`` where it is the process's own.
        figure: the figure that the target is about, where it is neither the ratio nor ``ours``.
        note: what a reader should know.
    """

    ours: float
    rival: float | None = None
    peak_mb: float | None = None
    figure: float | None = None
    unit: str = "s"
    note: str = ""

    @property
    def ratio(self) -> float | None:
        return None if self.rival is None else self.ours / self.rival


@dataclass(frozen=True)
class Case:
    """A named measurement with the figure it should reach."""

    issue: int
    name: str
    n: str
    target: float
    sense: Sense
    measure: Callable[[], Measured]


CASES: list[Case] = []


def case(
    issue: int, name: str, n: str, target: float, sense: Sense = "at most"
) -> Callable[[Callable[[], Measured]], Callable[[], Measured]]:
    """Registers a case. The target is about ``figure`` where given, else the ratio, else ``ours``."""

    def register(measure: Callable[[], Measured]) -> Callable[[], Measured]:
        CASES.append(Case(issue, name, n, target, sense, measure))
        return measure

    return register


def compare(ours: Callable[[], object], rival: Callable[[], object], rounds: int = 5) -> Measured:
    """Medians of both sides, run in turn after one warm-up each."""
    ours(), rival()
    pairs = [(seconds(ours), seconds(rival)) for _ in range(rounds)]
    mine, theirs = (statistics.median(side) for side in zip(*pairs, strict=True))
    return Measured(mine, theirs)


def alone(ours: Callable[[], object], rounds: int = 5) -> Measured:
    """Median of one side after one warm-up."""
    ours()
    return Measured(statistics.median(seconds(ours) for _ in range(rounds)))


def seconds(action: Callable[[], object]) -> float:
    """Wall time of one run, garbage of earlier runs collected first."""
    gc.collect()
    start = time.perf_counter()
    action()
    return time.perf_counter() - start


def process_peak_mb() -> float:
    """Peak resident memory of this process so far, MB."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
