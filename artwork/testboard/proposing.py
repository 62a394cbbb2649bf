"""Allowances that a test board speaks for, beside today's: the safe end of each figure's interval, rounded up."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from math import ceil
from typing import Any

from artwork.testboard.design import LANDS
from artwork.testboard.fitting import Figure, Fit
from artwork.workpiece import Allowances, Bit

LONGEST = 32
"""Length of lands, mm, that a proposal is for: the longest of the board, which breaks first."""
_FINE, _COARSE, _BIT = 0.05, 0.1, 0.01
"""What proposed depths, lands and tips are rounded up to, mm; angles to ``_COARSE`` degrees."""
LEAST_READING = 0.2
"""A shallower groove than this is proposed to nobody, mm."""


@dataclass(frozen=True)
class Change:
    """One allowance, today's and proposed, with the figure it comes from.

    Attributes:
        name: of the allowance, or of the bit's figure: ``sanding``, ``least_depth``, ``land_along``, ``land_across``,
            ``tip_flat``, ``angle_deg``.
        today, proposed: mm; the angle in degrees.
        figure: what was measured.
    """

    name: str
    today: float
    proposed: float
    figure: Figure


@dataclass(frozen=True)
class Proposal:
    """Allowances and a bit as the board speaks for them; figures it says nothing about stay today's.

    Attributes:
        allowances, bit: with the changes made.
        changes: all figures that the board speaks about, changed or not.
        notes: sentences for the bench: what is better set right than allowed for.
    """

    allowances: Allowances
    bit: Bit
    changes: tuple[Change, ...]
    notes: tuple[str, ...]


def propose(
    fit: Fit, allowances: Allowances, bit: Bit, factors: tuple[float, float] = (1.0, 1.0)
) -> Proposal:
    """What the fit speaks for.

    Args:
        fit: of the board.
        allowances, bit: today's.
        factors: what the board's wood needs along and across the grain as shares of what the allowances' own wood
            does (:func:`artwork.wood.land_factors`): the judges multiply by them again.
    """
    changes = (*_of_allowances(fit, allowances, factors), *_of_bit(fit, bit))
    made: dict[str, Any] = {each.name: each.proposed for each in changes}
    of_bit = {name: made.pop(name) for name in ("tip_flat", "angle_deg") if name in made}
    return Proposal(replace(allowances, **made), replace(bit, **of_bit), changes, tuple(_notes(fit, bit)))


def _of_allowances(fit: Fit, today: Allowances, factors: tuple[float, float]) -> Iterator[Change]:
    sanding, reads = fit.figure("sanding"), fit.figure("least_depth")
    if sanding is not None:
        yield Change("sanding", today.sanding, _up(max(sanding.safe, 0.0), _FINE), sanding)
    if reads is not None:
        yield Change("least_depth", today.least_depth, _up(max(reads.safe, LEAST_READING), _FINE), reads)
    along, across = (fit.figure(f"land-{angle}-{LONGEST}") for angle in (0, 90))
    least = LANDS[0]  # the board says nothing of narrower ones
    along_is = today.land_along if along is None else _up(max(along.safe, least) / factors[0], _COARSE)
    if along is not None:
        yield Change("land_along", today.land_along, along_is, along)
    if across is not None:
        # the judges take the direction from one to the other, so across the grain never asks for less
        yield Change(
            "land_across", today.land_across, _up(max(across.safe / factors[1], along_is), _COARSE), across
        )


def _of_bit(fit: Fit, bit: Bit) -> Iterator[Change]:
    """The bit as measured; as it is called where that is believable."""
    for name, step in (("tip_flat", _BIT), ("angle_deg", _COARSE)):
        figure, today = fit.figure(name), float(getattr(bit, name))
        if figure is not None:
            believable = figure.low <= today <= figure.high
            yield Change(name, today, today if believable else _up(max(figure.safe, 0.0), step), figure)


def _notes(fit: Fit, bit: Bit) -> Iterator[str]:
    zero = fit.figure("zero_error")
    if zero is not None and not zero.low <= 0 <= zero.high:
        way, cure = ("high", "lower") if zero.value > 0 else ("low", "higher")
        yield (
            f"The zero stood {abs(zero.value):.2f} mm too {way}: set it {cure}, rather than allow for it "
            "(measured on this one board)."
        )
    angle = fit.figure("angle_deg")
    if angle is not None and not angle.low <= bit.angle_deg <= angle.high:
        yield (
            f"The bit cuts like one of {angle.value:.1f}° ({angle.low:.1f} to {angle.high:.1f}): tell the software "
            "that makes the program so, or drawn widths come out wrong."
        )


def _up(value: float, step: float) -> float:
    return round(ceil(value / step - 1e-9) * step, 6)
