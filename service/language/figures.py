"""Numbers and dates as a language writes them."""

from __future__ import annotations

import re
from datetime import date, datetime

from babel.dates import format_date, format_datetime
from babel.numbers import get_decimal_symbol

from service.language.chosen import ENGLISH, language

_DAYS = {ENGLISH: "EEE d MMM y", "de": "EEE d. MMM y"}
_LONG_DAYS = {ENGLISH: "d MMMM y", "de": "d. MMMM y"}
_MOMENTS = {ENGLISH: "d MMM y, HH:mm 'UTC'", "de": "d. MMM y, HH:mm 'Uhr UTC'"}
"""Patterns of Unicode LDML, with the day before the month everywhere."""


_IN_BOTH = re.compile(r"(−?[0-9][0-9.,]*)\s?mm \(([^()]*? in)\)")


def in_one_unit(text: str, *, inches: bool) -> str:
    """A sentence that says lengths in both units, with one of them alone."""
    return _IN_BOTH.sub(r"\2" if inches else r"\1 mm", text)


def decimal(value: float, digits: int) -> str:
    """A number with so many decimals, to the nearest, without marks between thousands."""
    return f"{value:.{digits}f}".replace(".", get_decimal_symbol(language()))


def day_words(when: date) -> str:
    """A day with its weekday."""
    return format_date(when, _DAYS[language()], locale=language())


def long_day_words(when: date) -> str:
    """A day with its month in full."""
    return format_date(when, _LONG_DAYS[language()], locale=language())


def moment_words(when: datetime) -> str:
    """A moment to the minute; it is in UTC already."""
    return format_datetime(when, _MOMENTS[language()], locale=language())
