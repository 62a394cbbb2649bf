"""All of a drawing sturdier: what would carve as well on a board that is more uneven than the allowances say."""

from __future__ import annotations

from dataclasses import dataclass, replace

from artwork.axis import study
from artwork.cut import Cut
from artwork.errors import EngineError
from artwork.findings.wording import at_most
from artwork.repair.places import laid_alike, likeness_of
from artwork.repair.search import FIRST_SHARE, repairs
from artwork.repair.values import AS_PLACED, Budget, Likeness


@dataclass(frozen=True, eq=False)
class Sturdier:
    """A drawing with more to spare.

    Attributes:
        cut: laid as it lay, its outline in the same units.
        likeness: how much it keeps of what was drawn.
        farthest_mm: how far an edge was moved at most for it, mm.
    """

    cut: Cut
    likeness: Likeness
    farthest_mm: float


def sturdier_by(by: float) -> str:
    """What was done, in words."""
    return f"All of it sturdier, for a board uneven by {at_most(by)} more."


def sturdier(cut: Cut, drawn: Cut, by: float, budget: Budget) -> Sturdier:
    """A cut that carves with strokes and gaps as a board that much more uneven needs them.

    Args:
        cut: as it is.
        drawn: what was sent, its outline in the same units.
        by: how much more uneven than the allowances say, mm.
        budget: time and cancelling.

    Raises:
        EngineError: ``wide-enough`` where it has as much to spare already; ``not-possible`` where too little of what
            was drawn would be kept.
    """
    strict = replace(cut.allowances, unevenness=cut.allowances.unevenness + by)
    # No other way is tried: the art as it lies has all of the time.
    alone = replace(budget, seconds=budget.seconds / FIRST_SHARE)
    answer = repairs(replace(cut, allowances=strict), study(cut.outline), (), alone, AS_PLACED)
    if answer.enough and not answer.repairs and answer.reason is None:
        raise EngineError("wide-enough", "It has as much to spare already.", "Choose more, or leave it so.")
    if answer.repairs:
        found = replace(answer.repairs[0].cut, allowances=cut.allowances)
        alike = likeness_of(laid_alike(drawn, found), found)
        if alike.is_enough:
            return Sturdier(found, alike, answer.repairs[0].farthest_mm)
    raise EngineError(
        "not-possible",
        "Made sturdier by that much it would no longer be the drawing.",
        "Choose less, or make single strokes and gaps wider.",
    )
