"""Every change that makes a cut carve in one ranking: repairs and remedies, the least visible change first."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import log
from typing import Literal

import shapely

from artwork.axis import study
from artwork.change import Code
from artwork.cut import Cut
from artwork.errors import EngineError
from artwork.findings import Check, check
from artwork.remedies import Remedy
from artwork.repair import Budget, Change, ChangeKind, Likeness, Repair, Way
from artwork.repair.places import laid_alike, likeness_of, places_of
from artwork.repair.search import cost_of
from artwork.repair.strength import sturdier, sturdier_by
from artwork.shapes import united

VersionKind = Literal[Way, Code]
COSTS: dict[Code, float] = {
    "move": 0.05, "resize": 0.0, "thicken": 0.1, "thin": 0.1, "resize-and-thicken": 0.1, "resize-and-thin": 0.1,
    "turn": 0.4, "other-slat": 0.5, "other-bit": 0.3, "drop-parts": 0.1, "outline-only": 1.0, "no-floor": 0.0,
    "carve-background": 1.5,
}  # fmt: skip
"""How much each changes what people see, beside size and likeness (common practice, no source)."""
PER_SIZE = 1.5
"""Cost of another size, for each factor of e."""
SAME_SIZE = 0.01
_KINDS: dict[Code, ChangeKind] = {
    "thicken": "thickened", "thin": "thinned", "resize-and-thicken": "thickened", "resize-and-thin": "thinned",
}  # fmt: skip
STRONGER = (0.3, 0.15)
"""So much more uneven a board may be for a sturdier version, mm: the most that still is the drawing."""
_UNCHANGED = Likeness(1.0, 1.0, 1.0, 1.0)


@dataclass(frozen=True, eq=False)
class Version:
    """The drawing as it would be carved: a proposal that has passed the full check.

    Attributes:
        kind: what sort of change it is.
        sentence: the change in one line.
        cut: the proposed cut.
        before: what was drawn, laid as the proposed cut lies; ``None`` where the outline is the one sent.
        check: the full check.
        changes: what was done, in figures.
        likeness: how much of the drawing is kept.
        farthest_mm: how far an edge was moved at most, mm; 0 where none was.
        cost: how much people see of the change.
    """

    kind: VersionKind
    sentence: str
    cut: Cut
    before: Cut | None
    check: Check
    changes: tuple[Change, ...]
    likeness: Likeness
    farthest_mm: float
    cost: float


def of_repair(repair: Repair) -> Version:
    """A repair as one of the versions."""
    return Version(
        repair.way,
        repair.sentence,
        repair.cut,
        repair.before,
        repair.check,
        repair.changes,
        repair.likeness,
        repair.farthest_mm,
        repair.cost,
    )


def of_remedy(cut: Cut, remedy: Remedy) -> Version | None:
    """A remedy as one of the versions; ``None`` where it keeps too little of the drawing to be shown as that."""
    change, same = remedy.change, remedy.cut.outline is cut.outline
    before = None if same else laid_alike(cut, remedy.cut)
    alike = _UNCHANGED if before is None else likeness_of(before, remedy.cut)
    if not alike.is_enough:
        return None
    moved = abs(change.thickening)
    cost = COSTS[remedy.code] + PER_SIZE * abs(log(change.size_factor)) + cost_of(alike.least, moved)
    return Version(
        remedy.code, remedy.sentence, remedy.cut, before, remedy.check, _changes(remedy), alike, moved, cost
    )


def sturdier_of(cut: Cut, drawn: Cut, budget: Budget) -> Version | None:
    """A version with more to spare, where it is still the drawing; its cost and distance are what that adds.

    Args:
        cut: the version as little as it takes.
        drawn: what was drawn, laid like it, its outline in the same units.
        budget: time and cancelling, for each strength that is tried.
    """
    for by in STRONGER:
        try:
            found = sturdier(cut, drawn, by, budget)
        except EngineError:
            continue
        judged = check(found.cut, study(found.cut.outline))
        if judged.verdict != "will-not-carve":
            before = laid_alike(drawn, found.cut)
            return Version(
                "as-placed",
                sturdier_by(by),
                found.cut,
                before,
                judged,
                _by_kind([place.change for place in places_of(before, found.cut)]),
                found.likeness,
                found.farthest_mm,
                cost_of(found.likeness.least, found.farthest_mm),
            )
    return None


def _by_kind(changes: Sequence[Change]) -> tuple[Change, ...]:
    """Changes of one place each, told together by their kind."""
    found = []
    for kind in dict.fromkeys(change.kind for change in changes):
        same = [change for change in changes if change.kind == kind]
        place = united([change.place for change in same])
        found.append(Change(kind, place, max(change.amount_mm for change in same), len(same)))
    return tuple(found)


def _changes(remedy: Remedy) -> tuple[Change, ...]:
    change, nowhere = remedy.change, shapely.Polygon()
    found = []
    if change.thickening:
        found.append(Change(_KINDS.get(remedy.code, "thickened"), nowhere, abs(2 * change.thickening)))
    if change.turn_deg:
        found.append(Change("turned", nowhere, change.turn_deg))
    if abs(change.size_factor - 1) > SAME_SIZE:
        found.append(Change("resized", nowhere, 100 * change.size_factor))
    if change.bit is not None:
        found.append(Change("bit", nowhere, remedy.cut.bit.angle_deg))
    if change.dropped:
        found.append(Change("left-out", nowhere, 0.0, change.dropped))
    return tuple(found)
