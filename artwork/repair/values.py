"""What repair returns: versions of a drawing that carve, what was changed, and how much of it is kept."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal, TypeVar

from shapely.geometry.base import BaseGeometry

if TYPE_CHECKING:
    from artwork.axis import Anatomy
    from artwork.cut import Cut
    from artwork.findings import Check
    from artwork.workpiece import Slat

ChangeKind = Literal[
    "thickened", "thinned", "moved", "gap-opened", "gap-filled", "counter-opened", "counter-filled", "dot-grown",
    "end-shortened", "stroke-cut", "hatch-thinned", "left-out", "letters-spaced", "stacked", "turned", "resized", "bit",
]  # fmt: skip
Way = Literal["as-placed", "turned", "finer-bit", "finer-bit-turned", "stacked"]
AS_PLACED: frozenset[Way] = frozenset({"as-placed"})
OTHERWISE: frozenset[Way] = frozenset({"turned", "finer-bit", "finer-bit-turned", "stacked"})


@dataclass(frozen=True, eq=False)
class Change:
    """One sort of change at one place of a repaired drawing.

    Attributes:
        kind: what was done.
        place: the region that looks different, mm of the slat that the repair lies on; empty for changes of the
            whole (turned, resized, bit).
        amount_mm: by how much: wider, narrower, moved or shorter at most, mm; for what was filled or left out its
            longer side; degrees for ``"turned"``; per cent of the former size for ``"resized"``.
        count: how many strokes, gaps or parts.
    """

    kind: ChangeKind
    place: BaseGeometry
    amount_mm: float
    count: int = 1


LEAST_LIKENESS = 0.9
"""Below this a repair is not shown (docs/repair.md: no bad piece was above, few good ones below)."""
LEAST_ISLANDS = 0.7
"""Nor where less than this is left of the islands in any one part: the gaps between a wheel's spokes."""


@dataclass(frozen=True)
class Likeness:
    """How much of the drawing a repair keeps, as shares of lengths from 0 to 1 (docs/repair.md).

    Attributes:
        lines_kept: of the lines that were drawn, how much is still carved.
        lands_kept: of the wood that was left between them, how much is still wood.
        lines_true: of the lines now carved, how much was drawn.
        lands_true: of the wood now left, how much was left in the drawing.
        letters_kept: whether every letter keeps its parts and its counters.
        islands_kept: of the islands in one part of the drawing, how much is still wood: of the part that lost most.
        groups_kept: whether of few islands that belong together, eyes say, most are there: of two both.
    """

    lines_kept: float
    lands_kept: float
    lines_true: float
    lands_true: float
    letters_kept: bool = True
    islands_kept: float = 1.0
    groups_kept: bool = True

    @property
    def least(self) -> float:
        """The figure to go by."""
        return min(self.lines_kept, self.lands_kept, self.lines_true, self.lands_true)

    @property
    def is_enough(self) -> bool:
        """Whether people still see the drawing."""
        whole = self.letters_kept and self.groups_kept and self.islands_kept >= LEAST_ISLANDS
        return whole and self.least >= LEAST_LIKENESS


@dataclass(frozen=True, eq=False)
class Repair:
    """A version of a drawing that carves. A proposal: nothing is applied unasked.

    Attributes:
        way: how it lies and with which bit; each way is offered once.
        cut: the proposed cut, its outline in the units of the original's.
        before: what was drawn, laid as the proposed cut lies: what is different is seen between the two.
        anatomy: of its outline.
        check: the full check; its verdict is never ``"will-not-carve"``.
        changes: what was done, the most visible first.
        likeness: how much of the drawing is kept.
        sentence: the changes in one line.
        farthest_mm: how far a boundary was moved at most, mm.
        cost: how much people see of the change, to be compared with other changes (docs/repair.md).
    """

    way: Way
    cut: Cut
    before: Cut
    anatomy: Anatomy
    check: Check
    changes: tuple[Change, ...]
    likeness: Likeness
    sentence: str
    farthest_mm: float
    cost: float


@dataclass(frozen=True, eq=False)
class Reason:
    """Why no version is offered, and what would do.

    Attributes:
        sentence: the two requirements that contradict each other.
        place: where, slat mm.
        helps: what would make it carve, one sentence each, the easiest first.
    """

    sentence: str
    place: BaseGeometry
    helps: tuple[str, ...]


@dataclass(frozen=True, eq=False)
class Answer:
    """At most three repairs, the most like the drawing first; where there is none, the reason.

    Attributes:
        enough: whether looking at other ways is of no use: one of these is good, or no way would help.
    """

    repairs: tuple[Repair, ...]
    reason: Reason | None = None
    enough: bool = False


MUCH_LARGER = 1.25
"""What is larger by this factor when it is turned or set on two lines is tried before a finer bit."""
MOST = 3
"""So many versions are offered."""
Ranked = TypeVar("Ranked")


def foremost(ranked: Sequence[Ranked], as_placed: Callable[[Ranked], bool]) -> tuple[Ranked, ...]:
    """The best of what is ranked, at most three.

    What leaves the art as it lies stays among them: it is known and shown before the others are, and must not
    vanish under somebody's hands.

    Args:
        ranked: the best first.
        as_placed: whether one leaves the art as it lies.
    """
    late = [each for each in ranked[MOST:] if as_placed(each)][:1]
    return (*ranked[: MOST - len(late)], *late)


def never() -> bool:
    """For callers that do not cancel."""
    return False


@dataclass(frozen=True)
class Budget:
    """How long repair may take.

    Attributes:
        seconds: processor seconds of this thread, for all ways together; what was found until then is returned.
        spent: of those, what other ways have taken before.
        cancelled: asked often; True ends the work at once.
    """

    seconds: float = 17.0
    spent: float = 0.0
    cancelled: Callable[[], bool] = never


def much_larger_turned(width: float, height: float, slat: Slat) -> bool:
    """Whether art can be much larger turned by a quarter than as it lies: then little lacks, and it is soon mended.

    Told from boxes alone.

    Args:
        width, height: of the art as it lies, mm.
        slat: what it lies on.
    """
    left, low, right, high = slat.outline.bounds
    wide, high = right - left, high - low
    return min(wide / height, high / width) >= MUCH_LARGER * max(1.0, min(wide / width, high / height))
