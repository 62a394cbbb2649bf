"""What is read off a test board: each reading's name, what it is, and what it may be."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from math import isfinite

from artwork.errors import EngineError
from artwork.testboard.features import BoardPlan, Feature, Kind

Readings = Mapping[str, float]
"""Reading's key (``"L3.width"``) → mm; for a tap 1 (it reads, it stands) or 0. What was skipped is not in it."""

TAP = "tap"
STEP = 0.05
"""What the steppers of the bench's page add, mm; a calliper shows as much."""
_WHAT: dict[Kind, tuple[tuple[str, str, str], ...]] = {
    "place": (
        ("before", "mm", "Thickness before sanding, beside the mark."),
        ("after", "mm", "Thickness after sanding, at the same place."),
    ),
    "line": (
        ("reads", TAP, "Does the groove read from where people will stand?"),
        ("width", "mm", "Width of the groove at the sanded face, in its middle."),
        ("depth", "mm", "Depth of the groove, in its middle."),
    ),
    "step": (
        ("reads", TAP, "Does the groove read from where people will stand?"),
        ("depth", "mm", "Depth of the groove, in its middle."),
    ),
    "land": (("stands", TAP, "Does the wood between the two grooves stand whole?"),),
    "island": (("stands", TAP, "Does the round island stand whole?"),),
    "taper": (("lost", "mm", "From the drawn point to where the groove really ends."),),
    "edge": (("reach", "mm", "From the edge of the board to where the groove begins, after rounding over."),),
}


@dataclass(frozen=True)
class Slot:
    """One reading that can be taken.

    Attributes:
        key: ``"L3.width"``.
        feature: what is measured.
        what: the part after the point.
        unit: ``"mm"`` or ``"tap"``.
        question: a sentence.
        expected: what a board cut as planned shows, for the stepper to begin with, mm; 0 for a tap.
    """

    key: str
    feature: Feature
    what: str
    unit: str
    question: str
    expected: float


def slots(plan: BoardPlan, sanding: float = 0.3) -> tuple[Slot, ...]:
    """Every reading of the board, in the order of work at the bench.

    Args:
        plan: of the board.
        sanding: what the shop thinks it sands off, mm.
    """
    order: tuple[Kind, ...] = ("place", "line", "step", "land", "island", "taper", "edge")
    return tuple(
        slot for kind in order for feature in plan.of(kind) for slot in _slots(plan, feature, sanding)
    )


def _slots(plan: BoardPlan, feature: Feature, sanding: float) -> Iterator[Slot]:
    for what, unit, question in _WHAT[feature.kind]:
        expected = _expected(plan, feature, what, sanding)
        yield Slot(f"{feature.key}.{what}", feature, what, unit, question, expected)


def _expected(plan: BoardPlan, feature: Feature, what: str, sanding: float) -> float:
    thickness = plan.slat.thickness
    lost = sanding * feature.width / max(feature.depth, sanding)
    return {
        "before": thickness,
        "after": thickness - sanding,
        "width": max(feature.width - lost, STEP),
        "depth": max(feature.depth - sanding, STEP),
        "lost": 3.0,
        "reach": 5.0,
    }.get(what, 0.0)


def refuse_bad(plan: BoardPlan, readings: Readings) -> None:
    """Raise EngineError ``no-such-reading`` or ``reading-out-of-range`` for a reading that the board cannot give."""
    known = {slot.key: slot for slot in slots(plan)}
    for key, value in readings.items():
        slot = known.get(key)
        if slot is None:
            raise EngineError(
                "no-such-reading",
                f"This board has nothing called {key!r}.",
                "Name a reading as the board's own list does, such as L3.width.",
            )
        most = 1.0 if slot.unit == TAP else 500.0
        if not isfinite(value) or not 0 <= value <= most or (slot.unit == TAP and value not in (0, 1)):
            what = "0 or 1" if slot.unit == TAP else f"0 to {most:g} mm"
            raise EngineError("reading-out-of-range", f"{key} cannot be {value:g}.", f"Give {what}.")
