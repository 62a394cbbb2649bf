"""What really happened to items: how each came out, how long it took, and what that says of the estimates.

Plain counting: a share with its interval (Wilson, 1927), a ratio of times with its spread. Nothing is applied unasked.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from math import exp, isfinite, log, sqrt
from typing import Any

from service.orders.errors import FieldError

LEAST_JOBS = 3
"""Measured times that a shop's factor needs."""
LEAST_CHANGE = 0.05
"""Least change of the factor that is proposed: less is noise."""
LONGEST_WORDS = 500
MOST_MINUTES = 1440.0
_Z = 1.959964
"""Quantile of the normal distribution at 97.5 %."""
_WIDTH_BINS = (1.0, 1.3, 1.6, 2.0, 2.4, 3.0, 4.0)
"""Edges of the groups that least lines and lands are counted in, mm."""


class Outcome(StrEnum):
    """How an item came out."""

    FINE = "fine"
    FADED = "faded"
    BROKE = "broke"
    TEAR_OUT = "tear-out"
    WRONG = "wrong"


_BAD = frozenset(Outcome) - {Outcome.FINE}
_LAND_WENT, _LINE_WENT = frozenset({Outcome.BROKE, Outcome.TEAR_OUT}), frozenset({Outcome.FADED})
_DID = {
    Outcome.FADED: "faded",
    Outcome.BROKE: "broke",
    Outcome.TEAR_OUT: "tore out",
    Outcome.WRONG: "came out wrong",
}


@dataclass(frozen=True)
class Predicted:
    """What the checks and the estimate said of an item.

    Attributes:
        least_line, least_land: mm; ``None`` where there is none.
        land_across: whether its least land runs across the grain rather than along.
        kinds: of the findings that warned.
        minutes: of carving, as the estimate stood.
    """

    least_line: float | None
    least_land: float | None
    land_across: bool
    kinds: tuple[str, ...]
    minutes: float | None


@dataclass(frozen=True)
class ItemOutcome:
    """How one item came out, as somebody at the bench said.

    Attributes:
        order_id, key: of the item.
        digest: of the proof it was carved by.
        outcome: in a word.
        x, y: where it went wrong, slat mm; ``None`` where nobody said.
        words: what else was said.
        minutes: measured, of carving; ``None`` where nobody measured.
        predicted: what had been said of it.
        at, by: when, and the name of who said it.
    """

    order_id: str
    key: str
    digest: str
    outcome: Outcome
    x: float | None
    y: float | None
    words: str
    minutes: float | None
    predicted: Predicted
    at: datetime
    by: str


@dataclass(frozen=True)
class OutcomeGroup:
    """Items alike, and how many of them went wrong in the way that belongs to them.

    Attributes:
        words: a sentence (``"lands of 2.0 to 2.4 mm across the grain: 1 of 41 broke"``).
        of, wrong: how many.
        low, high: ends of the 95 % interval of the share that goes wrong.
    """

    words: str
    of: int
    wrong: int
    low: float
    high: float


@dataclass(frozen=True)
class TimeFactor:
    """Minutes measured over minutes told.

    Attributes:
        factor: their ratio (geometric mean).
        low: lower end of its 95 % interval.
        high: upper end of its 95 % interval.
        spread: by which factor single items differ from it, two out of three within.
        items: how many were measured.
        time_scale: the setting that would make the estimates true.
        sentence: in words.
    """

    factor: float
    low: float
    high: float
    spread: float
    items: int
    time_scale: float
    sentence: str


@dataclass(frozen=True)
class Experience:
    """All that outcomes say.

    Attributes:
        counts: outcome → how many items.
        groups: items alike, and how many of them went wrong.
        time: the factor of times; ``None`` for too few.
        proposals: sentences; nothing is applied unasked.
    """

    counts: Mapping[str, int]
    groups: tuple[OutcomeGroup, ...]
    time: TimeFactor | None
    proposals: tuple[str, ...]


def predicted_of(check: Mapping[str, Any]) -> Predicted:
    """From a stored check; a land that needs 2 mm and more is taken to run across the grain."""
    figures = check.get("figures", {})
    required = figures.get("least_land_required")
    warned = [each for each in check.get("findings", ()) if each.get("severity") == "warns"]
    return Predicted(
        figures.get("least_line"),
        figures.get("least_land"),
        bool(required is not None and required >= 2.0),
        tuple(dict.fromkeys(str(each["kind"]) for each in warned)),
        figures.get("minutes"),
    )


def outcome_problems(
    x: float | None, y: float | None, words: str, minutes: float | None
) -> Iterator[FieldError]:
    """What is wrong with what was said."""
    for name, value in (("x", x), ("y", y)):
        if value is not None and not (isfinite(value) and abs(value) <= 10_000):
            yield FieldError(name, "out-of-range", "Give mm on the slat.")
    if (x is None) != (y is None):
        yield FieldError("x", "pair", "Give both x and y, or neither.")
    if len(words) > LONGEST_WORDS:
        yield FieldError("words", "too-long", f"Use at most {LONGEST_WORDS} characters.")
    if minutes is not None and not 0 < minutes <= MOST_MINUTES:
        yield FieldError("minutes", "out-of-range", f"Give minutes above 0, at most {MOST_MINUTES:g}.")


def experience(outcomes: Sequence[ItemOutcome], time_scale: float) -> Experience:
    """What the outcomes say; ``time_scale`` is today's setting, which the told minutes already hold."""
    counts = {each.value: sum(o.outcome is each for o in outcomes) for each in Outcome}
    time = time_factor(outcomes, time_scale)
    proposals = []
    if time is not None and not time.low <= 1 <= time.high and abs(time.factor - 1) >= LEAST_CHANGE:
        proposals.append(
            f"Set the factor of times to {time.time_scale:.2f}: estimates would then be as the clock says."
        )
    groups = tuple(_groups(outcomes))
    proposals += [
        f"Of {group.words.partition(':')[0]} at least {group.low * 100:.0f} of 100 go wrong: cut a test board."
        for group in groups
        if group.low > 0.05
    ]
    return Experience(counts, groups, time, tuple(proposals))


def time_factor(outcomes: Sequence[ItemOutcome], time_scale: float) -> TimeFactor | None:
    """The ratio of times over all measured items; ``None`` for too few."""
    from scipy.special import stdtrit  # where it is needed: it takes a while to load

    ratios = [
        log(each.minutes / each.predicted.minutes)
        for each in outcomes
        if each.minutes and each.predicted.minutes
    ]
    if len(ratios) < LEAST_JOBS:
        return None
    mean = sum(ratios) / len(ratios)
    spread = sqrt(sum((each - mean) ** 2 for each in ratios) / (len(ratios) - 1))
    reach = float(stdtrit(len(ratios) - 1, 0.975)) * spread / sqrt(len(ratios))
    low, factor, high = (round(exp(each), 3) for each in (mean - reach, mean, mean + reach))
    sentence = (
        f"{len(ratios)} items took {factor:.2f} times as long as told ({low:.2f} to {high:.2f}); two of three lie "
        f"within {exp(-spread) * factor:.2f} and {exp(spread) * factor:.2f}."
    )
    return TimeFactor(
        factor, low, high, round(exp(spread), 3), len(ratios), round(time_scale * factor, 3), sentence
    )


def wilson(wrong: int, of: int) -> tuple[float, float]:
    """The 95 % interval of a share (Wilson's score)."""
    if not of:
        return 0.0, 1.0
    share, z2 = wrong / of, _Z * _Z
    middle = (share + z2 / (2 * of)) / (1 + z2 / of)
    reach = _Z * sqrt(share * (1 - share) / of + z2 / (4 * of * of)) / (1 + z2 / of)
    return max(middle - reach, 0.0), min(middle + reach, 1.0)


def _groups(outcomes: Sequence[ItemOutcome]) -> Iterator[OutcomeGroup]:
    for across in (False, True):
        lands = [o for o in outcomes if o.predicted.land_across == across]
        way = "across" if across else "along"
        yield from _binned(lands, "least_land", f"lands of {{}} mm {way} the grain", _LAND_WENT)
    yield from _binned(outcomes, "least_line", "lines of {} mm", _LINE_WENT)
    kinds = dict.fromkeys(kind for each in outcomes for kind in each.predicted.kinds)
    for kind in kinds:
        those = [each for each in outcomes if kind in each.predicted.kinds]
        yield _group(f"items with the remark “{kind.replace('-', ' ')}”", those, _BAD)


def _binned(
    outcomes: Iterable[ItemOutcome], figure: str, words: str, went: frozenset[Outcome]
) -> Iterator[OutcomeGroup]:
    bins: dict[int, list[ItemOutcome]] = {}
    for each in outcomes:
        value = getattr(each.predicted, figure)
        if value is not None:
            bins.setdefault(sum(value >= edge for edge in _WIDTH_BINS), []).append(each)
    for at in sorted(bins):
        yield _group(words.format(_span(at)), bins[at], went)


def _span(at: int) -> str:
    if at == 0:
        return f"less than {_WIDTH_BINS[0]:.1f}"
    if at == len(_WIDTH_BINS):
        return f"{_WIDTH_BINS[-1]:.1f} and more"
    return f"{_WIDTH_BINS[at - 1]:.1f} to {_WIDTH_BINS[at]:.1f}"


def _group(words: str, outcomes: Sequence[ItemOutcome], went: frozenset[Outcome]) -> OutcomeGroup:
    bad = [each.outcome for each in outcomes if each.outcome in went]
    did = " or ".join(dict.fromkeys(_DID[each] for each in bad)) or (
        "faded" if went == _LINE_WENT else "broke" if went == _LAND_WENT else "went wrong"
    )
    low, high = wilson(len(bad), len(outcomes))
    said = f"{words}: {len(bad)} of {len(outcomes)} {did}"
    return OutcomeGroup(said, len(outcomes), len(bad), round(low, 4), round(high, 4))
