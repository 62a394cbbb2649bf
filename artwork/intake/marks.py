"""A drawing as a painter puts it down: areas with a colour, one over the other."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from artwork.intake.paths import Path

Rule = Literal["nonzero", "evenodd"]
Colour = tuple[float, float, float]
"""sRGB, 0 to 1."""


@dataclass(frozen=True, eq=False)
class Area:
    """A path and the rule that says what it surrounds.

    Attributes:
        path: open subpaths count as closed.
        rule: non-zero or even-odd.
        rough: a distance within which its many short pieces may be made fewer; 0 for none.
    """

    path: Path
    rule: Rule = "nonzero"
    rough: float = 0.0


@dataclass(frozen=True, eq=False)
class Mark:
    """One painted area, in drawing units.

    Attributes:
        area: what is painted; open subpaths are closed.
        colour: with what, already blended with white paper where it is partly clear.
        clips: areas outside which nothing is painted, each a list that is joined first.
    """

    area: Area
    colour: Colour
    clips: tuple[tuple[Area, ...], ...] = ()
