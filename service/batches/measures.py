"""Lengths in the one unit that a sheet has: the workshop's own."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass

from babel.numbers import get_decimal_symbol

from artwork.findings.wording import down, up
from artwork.tooling import MM_PER_INCH
from service.language.chosen import language
from service.language.figures import decimal, in_one_unit
from service.orders.units import Units

_NUMBER = re.compile(r"\d+(?:[.,]\d+)?")
_ONE = _NUMBER.pattern
_IN_MM = re.compile(rf"({_ONE}(?: × {_ONE})*) mm\b")
_FEEDS = re.compile(rf"({_ONE}(?:\D{{1,12}}{_ONE})?) mm/min")


@dataclass(frozen=True)
class Measures:
    """Writes lengths in one unit, as the language spoken now writes numbers.

    Attributes:
        units: that unit.
    """

    units: Units

    @property
    def name(self) -> str:
        """Of the unit, as it stands behind a number."""
        return "in" if self.units is Units.INCH else "mm"

    def number(self, mm: float, digits: int) -> str:
        """A length, given in mm, without its unit; inches have a digit more, so that nothing is lost."""
        if self.units is Units.INCH:
            return decimal(mm / MM_PER_INCH, digits + 1)
        return decimal(mm, digits)

    def down(self, mm: float) -> str:
        """As :meth:`number`, never more than it is: for what is left, and for a depth that is typed in."""
        return decimal(*self._grains(mm, down))

    def up(self, mm: float) -> str:
        """As :meth:`number`, never less than it is: for the worst."""
        return decimal(*self._grains(mm, up))

    def _grains(self, mm: float, rounded: Callable[[float, float], float]) -> tuple[float, int]:
        if self.units is Units.INCH:
            return rounded(mm / MM_PER_INCH, 0.001), 3
        return rounded(mm, 0.01), 2

    def told(self, words: str) -> str:
        """Sentences of ours in one unit.

        What stands in both was rounded to the safe side in each: one of them is left. What stands in millimetres alone
        (settings, sizes) becomes inches to the nearest thousandth, feeds to the nearest tenth of an inch.
        """
        words = in_one_unit(words, inches=self.units is Units.INCH)
        if self.units is Units.MM:
            return words
        words = _FEEDS.sub(lambda found: f"{_NUMBER.sub(_feed, found[1])} in/min", words)
        return _IN_MM.sub(lambda found: f"{_NUMBER.sub(_length, found[1])} in", words)


def _length(found: re.Match[str]) -> str:
    return decimal(_mm(found[0]) / MM_PER_INCH, 3)


def _feed(found: re.Match[str]) -> str:
    return decimal(_mm(found[0]) / MM_PER_INCH, 1)


def _mm(number: str) -> float:
    return float(number.replace(get_decimal_symbol(language()), "."))
