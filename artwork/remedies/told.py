"""Sizes as they are told: numbers that hold when somebody types them in, in millimetres and in inches."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import ceil, floor, inf

from artwork.findings.wording import GRAIN, NOISE
from artwork.tooling import MM_PER_INCH

ENTRY = 0.02
"""What typing a width in may lose, mm: forms reckon from a width shown to 0.01."""
MILLIMETRES = (0.1, 0.01, 0.001)
"""Steps in which a size is told, the coarsest that will do."""
RULE_PARTS = (16, 32, 64)
"""Marks of a rule, parts of an inch."""
COARSEST = 0.025
"""A mark of the rule is used where it is no more than this share of the size."""
INCHES = (0.001, 0.0001)
"""Decimal inches where no mark of a rule will do."""
_NOISE = 1e-9


@dataclass(frozen=True)
class Told:
    """One size as two numbers, either of which may be typed in.

    Attributes:
        mm, inches: the numbers.
        inch_words: the inches as written, a mixed number or a decimal.
        decimals: fewest decimals of the millimetres.
    """

    mm: float
    inches: float
    inch_words: str
    decimals: int = 1

    @property
    def words(self) -> str:
        """``29.8 mm (1 3/16 in)``."""
        return f"{_decimals(self.mm, self.decimals)} mm ({self.inch_words} in)"


def at_the_least(least: float, most: float = inf) -> Told | None:
    """The smallest numbers of few digits from ``least`` up, neither above ``most``; mm. ``None``: no such."""
    return _told(least, most, least)


def at_the_most(least: float, most: float) -> Told | None:
    """The largest numbers of few digits up to ``most``, neither below ``least``; mm. ``None``: no such."""
    return _told(least, most, most)


def finer(size: Told) -> Told:
    """The same millimetres with the inches told in thousandths, not below them."""
    inches = ceil(size.mm / MM_PER_INCH / INCHES[0] - _NOISE) * INCHES[0]
    return Told(size.mm, inches, f"{inches:.3f}")


def growth(gain: float, most: float) -> Told | None:
    """By how much lines are thickened or thinned: from ``gain`` up, at most ``most``; mm."""
    gain -= NOISE * GRAIN
    millimetres = _first(gain, most, gain, MILLIMETRES[1:])
    inches = _first(gain / MM_PER_INCH, most / MM_PER_INCH, gain / MM_PER_INCH, INCHES)
    if millimetres is None or inches is None:
        return None
    return Told(millimetres, inches, _decimals(inches, 3), decimals=2)


def _told(least: float, most: float, wanted: float) -> Told | None:
    millimetres = _first(least, most, wanted, MILLIMETRES)
    inches = _inches(least / MM_PER_INCH, most / MM_PER_INCH, wanted / MM_PER_INCH)
    return None if millimetres is None or inches is None else Told(millimetres, *inches)


def _inches(least: float, most: float, wanted: float) -> tuple[float, str] | None:
    parts = [part for part in RULE_PARTS if 1 / part <= COARSEST * wanted]
    mark = _first(least, most, wanted, [1 / part for part in parts])
    if mark is not None:
        return mark, mixed(Fraction(mark).limit_denominator(RULE_PARTS[-1]))
    decimal = _first(least, most, wanted, INCHES)
    return None if decimal is None else (decimal, _decimals(decimal, 3))


def mixed(inches: Fraction) -> str:
    """``4 7/16``."""
    whole, rest = divmod(inches, 1)
    return " ".join(str(part) for part in (whole, rest) if part) or "0"


def _first(least: float, most: float, wanted: float, steps: Sequence[float]) -> float | None:
    """The multiple of the first step that lies within the bounds, next to the one that is wanted."""
    return next(_multiples(least, most, wanted, steps), None)


def _multiples(least: float, most: float, wanted: float, steps: Sequence[float]) -> Iterator[float]:
    for step in steps:
        number = ceil(least / step - _NOISE) if wanted == least else floor(most / step + _NOISE)
        value = round(number * step, 9)
        if least - _NOISE <= value <= most + _NOISE:
            yield value


def _decimals(value: float, least: int) -> str:
    """With as many decimals as the value has, at least so many."""
    digits = next(d for d in range(least, 10) if abs(round(value, d) - value) < _NOISE)
    return f"{value:.{digits}f}"
