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
from artwork.scene import Scene

LARGEST = 1500.0
"""Sizes beyond this, mm, are no help to anybody."""
SIMPLER = (
    "A simpler version of this drawing, with fewer and thicker lines.",
    "The maker can redraw this part.",
)


def too_much(cut: Cut, anatomy: Anatomy) -> Reason:
    """For lace, halftones and the like, which nobody would repair part by part."""
    rings = len(anatomy.ring_piece)
    sentence = (
        f"This drawing has {rings:,} parts and openings and {cut.outline.nodes:,} points; on this slat they are "
        "too small and too many to be thickened and moved apart one by one."
    )
    return Reason(sentence, Scene(cut, anatomy).hull, SIMPLER)


def reason_of(cut: Cut, anatomy: Anatomy) -> Reason:
    """The requirements that contradict each other, with the place that stops first, and the ways out."""
    limits = sizes(cut, anatomy)
    stops = [finding for finding in check(cut, anatomy).findings if finding.severity == "stops"]
    helps = []
    width = limits.least * anatomy.size[0]
    if isfinite(width) and width <= LARGEST and not limits.carves:
        fits = at_least(limits.most * anatomy.size[0])
        helps.append(f"At {at_most(width)} wide it carves as it is; this slat gives {fits}.")
    return Reason(limits.sentence, stops[0].place if stops else shapely.Polygon(), (*helps, *SIMPLER))
