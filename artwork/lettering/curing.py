"""What would make a text carve that does not: letters farther apart, larger, or in another face."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import product

from artwork.axis import study
from artwork.cut import Cut
from artwork.errors import EngineError
from artwork.findings import check
from artwork.lettering.field import Field
from artwork.lettering.fitting import FitRule, fit
from artwork.lettering.typefaces import typeface
from artwork.workpiece import Allowances, Bit, Slat

FARTHER = (0.0, 0.03, 0.06, 0.12)
"""How much more letter spacing is tried, ems: at 0.12 a line still holds together (common practice, no source)."""
LARGER = (1.0, 1.25, 1.6, 2.0)
"""How many times as large capitals are tried."""
STURDY = ("source-serif-bold", "lato-bold", "heebo-bold")
"""Faces of even strokes that are tried last, as they change most of what people see."""
FRUITLESS = 3
"""After so many texts for which nothing was found no more is looked for in that run."""


@dataclass(frozen=True)
class Bench:
    """Where texts are carved, and with what."""

    field: Field
    slat: Slat
    bit: Bit
    allowances: Allowances


class Cures:
    """Rules under which the texts of one run carve; what cured one text is tried first for the next."""

    def __init__(self, rule: FitRule, bench: Bench) -> None:
        self._rule, self._bench = rule, bench
        self._good: list[FitRule] = []
        self._fruitless = 0

    def sentence(self, text: str) -> str:
        """Under which spacing, size or face a text carves that does not; empty where none is found."""
        if self._fruitless >= FRUITLESS:
            return ""
        for rule in self._tried():
            if self._carves(text, rule):
                self._good = [rule, *(good for good in self._good if good != rule)]
                return self._told(rule)
        self._fruitless += 1
        return ""

    def _tried(self) -> Iterator[FitRule]:
        yield from self._good
        rule = self._rule
        for larger, farther in list(product(LARGER, FARTHER))[1:]:
            yield _fixed(rule, larger, farther)
        for face in STURDY:
            if face != rule.typeface:
                yield from (_fixed(replace(rule, typeface=face), 1.0, farther) for farther in FARTHER)

    def _carves(self, text: str, rule: FitRule) -> bool:
        bench = self._bench
        try:
            lettered = fit(text, rule, bench.field)
        except EngineError:
            return False
        cut = Cut(lettered.outline, bench.slat, lettered.placement, bench.bit, bench.allowances)
        return check(cut, study(cut.outline)).verdict != "will-not-carve"

    def _told(self, rule: FitRule) -> str:
        ways = []
        if rule.typeface != self._rule.typeface:
            ways.append(f"in {typeface(rule.typeface).name}")
        if rule.tracking > self._rule.tracking:
            ways.append(f"with a letter spacing of {rule.tracking:g} em")
        if rule.cap_height > self._rule.cap_height:
            ways.append(f"with capitals of {rule.cap_height:g} mm")
        return f"It carves {' and '.join(ways)}." if ways else ""


def _fixed(rule: FitRule, larger: float, farther: float) -> FitRule:
    """The rule at one size and one spacing, so that nothing gives way: a text that is too long for it is refused."""
    size = round(rule.cap_height * larger, 1)
    spacing = round(min(rule.tracking + farther, 1.0), 3)
    return replace(rule, cap_height=size, least_cap_height=size, tracking=spacing, least_tracking=spacing)
