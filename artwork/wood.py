"""Wood that moves: moisture, width, gaps, cup.

After the Wood Handbook (FPL-GTR-190, 2010), chapters 4 and 13; the figures and how sure each is stand in
``docs/sources.md`` §1. Boards shrink and swell across the grain only; along it the change is not worth
counting.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

from artwork.errors import EngineError

Sawn = Literal["flat", "quarter"]
"""Flat-sawn boards move tangentially across their width, quarter-sawn ones radially."""

LEAST_MC, MOST_MC = 6.0, 14.0
"""Moisture contents, %, between which the coefficients of Table 13-5 hold."""
SATURATED = 30.0
"""Moisture content, %, at which most species begin to shrink."""


@dataclass(frozen=True)
class Species:
    """Shrinkage of a species from green to oven-dry.

    Attributes:
        key, name: how it is called in data and by people.
        radial, tangential: percent of the green size (Tables 4-3, 4-4).
        shrinks_from: moisture content at which shrinkage begins: 30, but 22 for western redcedar and redwood
            (footnote of Table 13-5; from memory, confirmed by the printed coefficients).
        shear: strength in shear parallel to the grain at 12 % moisture content, psi (Table 5-3b, 5-5b).
        tension: strength in tension perpendicular to the grain, psi; ``None`` where it is not tabulated.
    """

    key: str
    name: str
    radial: float
    tangential: float
    shear: float | None = None
    tension: float | None = None
    shrinks_from: float = SATURATED

    def shrinkage(self, sawn: Sawn) -> float:
        """Percent across the width of a board so sawn."""
        return self.tangential if sawn == "flat" else self.radial

    def coefficient(self, sawn: Sawn) -> float:
        """Change of width per 1 % of moisture content, as in Table 13-5."""
        return coefficient(self.shrinkage(sawn), self.shrinks_from)


SPECIES = {
    each.key: each
    for each in (
        Species("western-redcedar", "western redcedar", 2.4, 5.0, 990, 220, shrinks_from=22.0),
        Species("redwood", "redwood, young growth", 2.2, 4.9, 1110, 250, shrinks_from=22.0),
        Species("eastern-white-pine", "eastern white pine", 2.1, 6.1, 900, 310),
        Species("white-oak", "white oak", 5.6, 10.5, 2000, 800),
        Species("mahogany", "mahogany, true", 3.0, 4.1, 1230, None),
        Species("sapele", "sapele", 4.6, 7.4, 2260, None),
        Species("sugar-maple", "sugar maple", 4.8, 9.9, 2330, None),
    )
}
"""Species whose movement is known here, by key."""


REFERENCE = "western-redcedar"
"""The wood that a shop's least lands are meant for."""
LEAST_FACTOR, MOST_FACTOR = 0.7, 1.5
"""Bounds of what strength alone may change: wood also splits at rays and pitch (common practice, no source)."""


def land_factors(key: str) -> tuple[float, float]:
    """What a wood needs of the least lands along and across the grain, as shares of western redcedar's.

    A wall between two grooves bends about its foot, and is torn there across the grain whichever way it runs:
    its stress goes with 1 / width², so the width needed goes with the root of the strength in tension
    perpendicular to the grain (where the Handbook has none, in shear). A wall across the grain also slides off
    along its fibres: that stress goes with 1 / width, so the width goes with the strength in shear; the larger
    of both counts. A wood that is not known here is taken for redcedar.
    """
    wood, known = SPECIES.get(key), SPECIES[REFERENCE]
    if wood is None:
        return 1.0, 1.0
    if wood.shear is None or known.shear is None:
        return 1.0, 1.0
    sliding = known.shear / wood.shear
    torn = sliding if wood.tension is None or known.tension is None else known.tension / wood.tension
    along, across = torn**0.5, max(torn**0.5, sliding)
    return (
        min(max(along, LEAST_FACTOR), MOST_FACTOR),
        min(max(across, LEAST_FACTOR), MOST_FACTOR),
    )


def species(key: str) -> Species:
    """The species of that key.

    Raises:
        EngineError: ``"unknown-wood"``.
    """
    if key not in SPECIES:
        raise EngineError(
            "unknown-wood",
            f"The movement of '{key}' is not known here.",
            f"Choose one of: {', '.join(SPECIES)}.",
        )
    return SPECIES[key]


def coefficient(shrinkage: float, shrinks_from: float = SATURATED) -> float:
    """Dimensional-change coefficient per 1 % of moisture content from the total shrinkage in percent.

    ``C = (S/100/f) / (1 − (S/100)·(f − 10)/f)``: the rule behind Table 13-5, based on the width at 10 %.
    """
    share = shrinkage / 100
    return share / shrinks_from / (1 - share * (shrinks_from - 10) / shrinks_from)


def change(width: float, wood: Species, before: float, after: float, sawn: Sawn = "flat") -> float:
    """Change of a board's width, mm, from one moisture content (%) to another.

    Between 6 and 14 % by Eq. 13-2, ``ΔD = D·C·(M_F − M_I)``, otherwise by Eq. 13-3,
    ``ΔD = D·(M_F − M_I) / (30·100/S − 30 + M_I)``. The Handbook's own caution: for lumber as it is sold this
    is too much across the width and too little through the thickness.

    Raises:
        EngineError: ``"moisture"`` for a moisture content below 0 or above the 30 % at which wood is saturated.
    """
    if not (0 <= before <= SATURATED and 0 <= after <= SATURATED):
        raise EngineError(
            "moisture",
            f"Wood of {before:g} or {after:g} % moisture content is out of range.",
            "Give moisture contents between 0 and 30 %.",
        )
    if min(before, after) >= LEAST_MC and max(before, after) <= MOST_MC:
        return width * wood.coefficient(sawn) * (after - before)
    full = SATURATED * 100 / wood.shrinkage(sawn)
    return width * (after - before) / (full - SATURATED + before)


@dataclass(frozen=True)
class Spread:
    """What happens to art that runs over several slats side by side; all mm.

    Attributes:
        widths: change of each slat's width.
        gaps: change of each gap between neighbours, when every slat is held at its middle.
        across: change of the distance between the outer edges.
    """

    widths: tuple[float, ...]
    gaps: tuple[float, ...]
    across: float


def spread(
    widths: tuple[float, ...], wood: Species, before: float, after: float, sawn: Sawn = "flat"
) -> Spread:
    """Movement of slats side by side, each screwed at its middle, so that it swells into both gaps."""
    changes = tuple(change(width, wood, before, after, sawn) for width in widths)
    gaps = tuple(-(left + right) / 2 for left, right in pairwise(changes))
    return Spread(changes, gaps, (changes[0] + changes[-1]) / 2 if changes else 0.0)


def cup_height(width: float, cup: float, off_centre: float) -> float:
    """How far the face of a cupped board stands above its edges' line, mm.

    The face is an arc over ``width`` with the height ``cup`` at its middle.

    Args:
        width: of the board, mm.
        cup: measured at the middle, mm, 0 or more.
        off_centre: distance from the centre line, mm.
    """
    if cup == 0:
        return 0.0
    radius = (width**2 / 4 + cup**2) / (2 * cup)
    return float((radius**2 - off_centre**2) ** 0.5 - (radius - cup))
