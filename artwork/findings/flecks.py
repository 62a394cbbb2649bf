"""Flecks: parts and holes so small that nobody misses them."""

from __future__ import annotations

import numpy as np
from shapely import MultiPolygon

from artwork.curves import Floats
from artwork.findings.runs import Bools, Ints
from artwork.findings.values import Finding
from artwork.findings.wording import at_most, counted, up
from artwork.scene import Scene

FLECK_SHARE = 0.5
"""A part that vanishes, or an island of wood that breaks out, is a fleck where its longest side is no more
than this share of the width it would need: dust and pinholes of a scan, not the dot of an i."""


def are_flecks(scene: Scene, span: Floats, required: Floats) -> Bools:
    """Which regions are flecks, given their longest sides (outline units) and the widths they need (mm)."""
    return np.asarray(np.isfinite(required) & (span * scene.scale <= FLECK_SHARE * required))


def fleck_findings(scene: Scene, parts: Ints, holes: Ints) -> list[Finding]:
    """One finding for all flecks: those that would be carved and those that would be left standing."""
    count = len(parts) + len(holes)
    if not count:
        return []
    anatomy = scene.anatomy
    spans = np.concatenate([anatomy.piece_span[parts], anatomy.land_span[holes]])
    largest = up(float(spans.max()) * scene.scale)
    place = MultiPolygon([*scene.pieces(parts).geoms, *scene.lands(holes).geoms])
    return [
        Finding(
            kind="fleck",
            severity="warns",
            place=place,
            measured=largest,
            required=None,
            nominal=None,
            worst=0.0,
            message=f"{counted(count, 'fleck', 'flecks')}, up to {at_most(largest)} across, "
            "will not be seen in the wood.",
            cure="Nothing need be done; leaving them out saves time and makes cleaner edges.",
            count=count,
            length=largest,
        )
    ]
