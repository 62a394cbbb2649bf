"""Lengths as people read them: millimetres, inches, one of them or both."""

from __future__ import annotations

import math
from contextvars import ContextVar

from service.language.figures import decimal, in_one_unit

FILTERS = ("mm", "inch", "both", "up_mm", "down_mm", "up_both", "size", "one_unit", "length_found")
_MM_PER_INCH = 25.4
_SIXTEENTHS = 16


def mm(value: float | None, digits: int = 1) -> str:
    """Millimetres, rounded to the nearest: for sizes, never for a limit that wood is cut by."""
    return "–" if value is None else f"{decimal(value, digits)} mm"


def up_mm(value: float | None) -> str:
    """Millimetres needed, rounded up to a hundredth: what is asked for is never understated."""
    return "–" if value is None else f"{decimal(math.ceil(round(value * 100, 6)) / 100, 2)} mm"


def down_mm(value: float) -> str:
    """Hundredths of a millimetre that there are, rounded down, without the unit: what is there is never overstated."""
    return decimal(math.floor(round(value * 100, 6)) / 100, 2)


def up_both(value: float | None) -> str:
    """As :func:`up_mm`, with inches to a thousandth, rounded up too: bits are set by decimals, wood by fractions."""
    if value is None:
        return "–"
    return f"{up_mm(value)} ({decimal(math.ceil(round(value / _MM_PER_INCH * 1000, 6)) / 1000, 3)} in)"


def inch(value: float | None) -> str:
    """Inches to the nearest sixteenth, as a rule shows them (``4 7/16 in``)."""
    if value is None:
        return "–"
    sixteenths = round(abs(value) / _MM_PER_INCH * _SIXTEENTHS)
    whole, part = divmod(sixteenths, _SIXTEENTHS)
    sign = "−" if value < 0 and sixteenths else ""
    if part == 0:
        return f"{sign}{whole} in"
    common = math.gcd(part, _SIXTEENTHS)
    fraction = f"{part // common}/{_SIXTEENTHS // common}"
    return f"{sign}{whole} {fraction} in" if whole else f"{sign}{fraction} in"


def both(value: float | None) -> str:
    """Millimetres with inches beside them."""
    return "–" if value is None else f"{mm(value)} ({inch(value)})"


INCHES: ContextVar[bool] = ContextVar("inches", default=False)
"""Whether whoever reads the page that is being drawn wants inches."""


def size(value: float | None, digits: int = 1) -> str:
    """A length in the reader's own unit: millimetres, or inches as :func:`inch`."""
    if value is None:
        return "–"
    return inch(value) if INCHES.get() else mm(value, digits)


def length_found(value: float) -> str:
    """A small length in the reader's own unit, to a hundredth of a millimetre or a thousandth of an inch."""
    return f"{decimal(value / _MM_PER_INCH, 3)} in" if INCHES.get() else f"{decimal(value, 2)} mm"


def one_unit(text: str) -> str:
    """A sentence that says lengths in both units, with the reader's own alone."""
    return in_one_unit(text, inches=INCHES.get())
