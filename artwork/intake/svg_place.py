"""Where a walk through an SVG stands, and how its plain properties read."""

from __future__ import annotations

from dataclasses import dataclass

from artwork.intake.marks import Area, Rule
from artwork.intake.paths import Matrix
from artwork.intake.svg_shapes import Port
from artwork.intake.svg_style import Style


@dataclass(frozen=True)
class Place:
    """Where the walk stands.

    Attributes:
        matrix: from the element's units to the drawing's.
        style: what is inherited.
        port: the view percentages are of.
        opacity: product of the groups' opacities.
        clips: what hides.
        depth: groups and references entered.
        used: ids being referred to, to stop a loop.
    """

    matrix: Matrix
    style: Style
    port: Port
    opacity: float = 1.0
    clips: tuple[tuple[Area, ...], ...] = ()
    depth: int = 0
    used: frozenset[str] = frozenset()


def rule_of(text: str) -> Rule:
    """A fill rule."""
    return "evenodd" if text.strip() == "evenodd" else "nonzero"


def fraction(text: str | None, otherwise: float) -> float:
    """A number or percentage."""
    try:
        value = (text or "").strip()
        return float(value[:-1]) / 100 if value.endswith("%") else float(value)
    except ValueError:
        return otherwise


def share_of(text: str | None) -> float:
    """0 to 1, and 1 where nothing readable is said."""
    return min(max(fraction(text, 1.0), 0.0), 1.0)
