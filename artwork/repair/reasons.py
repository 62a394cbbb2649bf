"""Why no version is offered, and what would do."""

from __future__ import annotations

from math import isfinite

import shapely

from artwork.axis import Anatomy
from artwork.cut import Cut
from artwork.findings import check
from artwork.findings.wording import at_least, at_most
from artwork.remedies import sizes
from artwork.repair.values import Reason

LARGEST = 1500.0
"""Sizes beyond this, mm, are no help to anybody."""


def reason_of(cut: Cut, anatomy: Anatomy) -> Reason:
    """The requirements that contradict each other, with the place that stops first, and the ways out."""
    limits = sizes(cut, anatomy)
    stops = [finding for finding in check(cut, anatomy).findings if finding.severity == "stops"]
    helps = []
    width = limits.least * anatomy.size[0]
    if isfinite(width) and width <= LARGEST and not limits.carves:
        fits = at_least(limits.most * anatomy.size[0])
        helps.append(f"At {at_most(width)} wide it carves as it is; this slat gives {fits}.")
    helps += [
        "A simpler version of this drawing, with fewer and thicker lines.",
        "The maker can redraw this part.",
    ]
    return Reason(limits.sentence, stops[0].place if stops else shapely.Polygon(), tuple(helps))
