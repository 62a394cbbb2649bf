"""A drawing as a painter puts it down: areas with a colour, one over the other."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Literal

from artwork.intake.paths import Matrix, Path

Rule = Literal["nonzero", "evenodd"]
Colour = tuple[float, float, float]
"""sRGB, 0 to 1."""
BLACK: Colour = (0.0, 0.0, 0.0)


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

    def moved(self, matrix: Matrix) -> Area:
        """The area under an affine map that keeps sizes."""
        return replace(self, path=self.path.moved(matrix))


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

    def moved(self, matrix: Matrix) -> Mark:
        """The mark under an affine map that keeps sizes. Clips that marks share stay shared."""
        return Mark(self.area.moved(matrix), self.colour, tuple(_moved(clip, matrix) for clip in self.clips))


@lru_cache(maxsize=256)
def _moved(clip: tuple[Area, ...], matrix: Matrix) -> tuple[Area, ...]:
    return tuple(area.moved(matrix) for area in clip)


def on_paper(colour: Colour, opacity: float, paper: Colour) -> Colour:
    """A partly clear colour as it looks on paper of one colour."""
    if opacity >= 1:
        return colour
    red, green, blue = (c * opacity + p * (1 - opacity) for c, p in zip(colour, paper, strict=True))
    return red, green, blue
