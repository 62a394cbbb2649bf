"""Readings that do not go with the others: most likely mistyped."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from artwork.curves import Floats
from artwork.testboard.features import BoardPlan
from artwork.testboard.readings import Readings
from artwork.testboard.statistics import fit_line, t_quantile
from artwork.testboard.survival import Outcomes

UNLIKELY = 0.01
"""Chance at which one of a kind of readings is called a suspect though all are right."""
HARDLY = 0.001
"""Chance of a tap below which it is told."""
LEAST_OFF = 0.2
"""How far off it must be besides, mm: less does no harm."""
LEAST_OTHERS = 4
MOST = 3
"""More than these are no slips of the hand."""
_SAME = 0.12


@dataclass(frozen=True)
class Suspect:
    """A reading that the others contradict.

    Attributes:
        key: of the reading.
        value: as it was typed.
        expected: what the others make likely, mm; for a tap 1 or 0.
        words: a sentence, with what may have been meant.
    """

    key: str
    value: float
    expected: float
    words: str


def mistyped(plan: BoardPlan, readings: Readings, confirmed: frozenset[str]) -> tuple[Suspect, ...]:
    """The measured values that do not go with the others of their kind, the worst of each kind first."""
    found: list[Suspect] = []
    for keys, x, y in _series(plan, readings):
        found += _outliers(keys, x, y, confirmed)
    return tuple(found)


def _series(plan: BoardPlan, readings: Readings) -> Iterator[tuple[list[str], Floats | None, Floats]]:
    """Kinds of readings: their keys, what they go by (nothing: all should be alike), and what goes by it."""
    for what, kinds in (("width", ("line",)), ("depth", ("line", "step"))):
        features = [each for each in plan.of(*kinds) if f"{each.key}.{what}" in readings]
        keys = [f"{each.key}.{what}" for each in features]
        yield keys, np.array([each.depth for each in features]), np.array([readings[key] for key in keys])
    for what in ("before", "after"):
        keys = [key for each in plan.of("place") if (key := f"{each.key}.{what}") in readings]
        yield keys, None, np.array([readings[key] for key in keys])


def _outliers(keys: list[str], x: Floats | None, y: Floats, confirmed: frozenset[str]) -> Iterator[Suspect]:
    """The worst, then the worst of the rest."""
    left = np.ones(len(y), bool)
    for _ in range(MOST):
        worst: tuple[float, int, float] | None = None
        for at in np.flatnonzero(left).tolist():
            others = left.copy()
            others[at] = False
            if keys[at] in confirmed or others.sum() < LEAST_OTHERS:
                continue
            expected, error, freedom = _foretold(None if x is None else x[others], y[others], x, at)
            off = abs(float(y[at]) - expected)
            allowed = t_quantile(1 - UNLIKELY / 2 / len(y), freedom) * error
            if off > max(allowed, LEAST_OFF) and (worst is None or off > worst[0]):
                worst = (off, at, expected)
        if worst is None:
            return
        _, at, expected = worst
        left[at] = False
        yield Suspect(keys[at], float(y[at]), expected, _words(keys[at], float(y[at]), expected))


def _foretold(x: Floats | None, y: Floats, places: Floats | None, at: int) -> tuple[float, float, int]:
    """What the others make of one: its value, the error of one reading about it, and degrees of freedom."""
    if x is None or places is None or np.ptp(x) == 0:
        spread = float(y.std(ddof=1))
        return float(y.mean()), max(spread, 0.02) * np.sqrt(1 + 1 / len(y)), len(y) - 1
    line = fit_line(x, y)
    apart = x - x.mean()
    reach = 1 + 1 / len(x) + (places[at] - x.mean()) ** 2 / (apart @ apart)
    return (
        line.intercept + line.slope * float(places[at]),
        max(line.residual_sd, 0.02) * float(np.sqrt(reach)),
        len(x) - 2,
    )


def _words(key: str, value: float, expected: float) -> str:
    said = f"{key} was typed as {value:g}; the others make {expected:.2f} mm likely."
    meant = next((each for each in _slips(value) if abs(each - expected) < _SAME), None)
    return said + (f" Was {meant:g} meant?" if meant is not None else " Measure it again.")


def _slips(value: float) -> Iterator[float]:
    """What a hand slips to: the point one place off, two digits changed about, inches, one digit off by one."""
    yield from (value * 10, value / 10, value * 100, value / 100, value * 25.4, value / 25.4)
    text = f"{value:.2f}"
    for a in range(len(text)):
        for b in range(a + 1, len(text)):
            if text[a].isdigit() and text[b].isdigit() and text[a] != text[b]:
                signs = list(text)
                signs[a], signs[b] = signs[b], signs[a]
                yield float("".join(signs))
    for step in (1.0, 10.0, 0.1):
        yield from (value + step, value - step)


def odd_taps(
    outcomes: Outcomes,
    keys: Sequence[str],
    words: tuple[str, str],
    confirmed: frozenset[str],
    sharpest: float,
) -> Iterator[Suspect]:
    """Taps whose opposite the others make all but certain.

    Args:
        outcomes: of the taps.
        keys: their names.
        words: what a tap of 1 and of 0 says.
        confirmed: keys that are not to be told.
        sharpest: how gradually things hold at least, mm: few readings look sharper than wood is.
    """
    off = outcomes.x - float(np.median(outcomes.x))
    for at, key in enumerate(keys):
        held = outcomes.held[at] > 0
        against = (off > off[at]) & (outcomes.held == 0) if held else (off < off[at]) & (outcomes.held > 0)
        if key in confirmed or not against.any():
            continue
        chance = outcomes.chance(float(outcomes.x[at]), outcomes.covariates[at], at, sharpest)
        if (chance if held else 1 - chance) < HARDLY:
            said, other = words if held else words[::-1]
            told = f"{key.partition('.')[0]} was tapped “{said}”; the others make “{other}” almost certain. Look again."
            yield Suspect(key, float(outcomes.held[at]), 1.0 - float(outcomes.held[at]), told)
