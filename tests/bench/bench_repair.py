"""Repair: how many drawings that stop get a version that carves, and what that costs. One core.

``SLATPROOF_REPAIR_PIECES`` sets how many pieces are looked at (330 for the whole list).
"""

from __future__ import annotations

import os
from functools import cache

import numpy as np

from tests.bench.harness import Measured, case
from tests.repairing.sheet import Tried, chosen, slat, tried

PIECES = int(os.environ.get("SLATPROOF_REPAIR_PIECES", "60"))
N = f"{PIECES} pieces"


@cache
def found(name: str) -> tuple[Tried, ...]:
    """Every piece of the list that stops on the slat, and what is offered."""
    return tuple(tried(chosen(PIECES), slat(name)))


def offered(name: str, ways: set[str] | None = None) -> Measured:
    """Share of those that stop with a version; the figure is no verdict of likeness, which people give."""
    looked = found(name)
    good = [each for each in looked if any(not ways or r.way in ways for r in each.answer.repairs)]
    seconds = float(np.median([each.seconds for each in looked]))
    return Measured(
        seconds, figure=len(good) / len(looked), unit="share", note=f"{len(good)} of {len(looked)}"
    )


@case(
    issue=17, name="wide slat: a version with the present bit, as placed", n=N, target=0.75, sense="at least"
)
def wide_as_placed() -> Measured:
    return offered("wide", {"as-placed"})


@case(issue=17, name="wide slat: any version", n=N, target=0.90, sense="at least")
def wide_any() -> Measured:
    return offered("wide")


@case(issue=17, name="rail: any version", n=N, target=0.97, sense="at least")
def rail_any() -> Measured:
    return offered("rail")


@case(issue=17, name="narrow slat: any version", n=N, target=0.75, sense="at least")
def narrow_any() -> Measured:
    return offered("narrow")


@case(issue=17, name="processor time to the first version, median", n=N, target=1.0)
def first_version() -> Measured:
    seconds = np.array([each.first for each in found("wide") if each.answer.repairs])
    told = ", ".join(f"{value:.2f} s" for value in np.percentile(seconds, [50, 95, 100]))
    return Measured(float(np.median(seconds)), note=f"median, 95 %, worst: {told}")


@case(issue=17, name="processor time for all versions, 95 %", n=N, target=8.0)
def slowest() -> Measured:
    seconds = np.array([each.seconds for each in found("wide")])
    told = ", ".join(f"{value:.2f} s" for value in np.percentile(seconds, [50, 95, 100]))
    return Measured(float(np.percentile(seconds, 95)), note=f"median, 95 %, worst: {told}")


@case(issue=17, name="farthest boundary moved, median over pieces, mm", n=N, target=1.2)
def farthest() -> Measured:
    first = [each.answer.repairs[0].farthest_mm for each in found("wide") if each.answer.repairs]
    return Measured(float(np.median(first)), unit="mm")
