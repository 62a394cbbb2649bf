"""Shapes that touch, or all but touch: each carves; where they meet they are carved as two, or as one."""

from __future__ import annotations

from math import isinf

import numpy as np

from artwork.findings.runs import Run, Strip, on_slat
from artwork.findings.values import Finding
from artwork.findings.wording import at_most, counted, up
from artwork.scene import Scene

CONTACT = 0.05
"""Lines and lands narrower than this, mm, over no more than their need are no lines and no lands, but two shapes
that meet: nobody draws a hair of that width on purpose (common practice, no source)."""
SEAM = 5e-4
"""So is wood of any length between shapes that is narrower than this share of the drawing's longer side as well: a
drawing program leaves such seams between parts that were meant to meet (common practice, no source)."""
CRUMBLING = 15.0
"""From a seam the wood beside it may crumble this far to either side, mm, as from any point."""


def is_contact(scene: Scene, strip: Strip, run: Run) -> bool:
    """Whether a thin place between two good ones is where two shapes meet."""
    widest = max(CONTACT, 2 * (scene.anatomy.pixel or 0.0) * scene.scale)
    if run.exits < 2 or isinf(run.way) or 2 * scene.scale * run.clearance > widest:
        return False
    # where it is no wider than twice that, it must be short
    narrow = 2 * scene.scale * strip.clearance[run.members].max(axis=1) <= 2 * widest
    length = float(strip.lengths[run.members][narrow].sum()) * scene.scale
    return length <= float(np.min(strip.required[run.members]))


def is_seam(scene: Scene, strip: Strip, run: Run) -> bool:
    """Whether thin wood is a seam that nobody drew: two shapes that were meant to meet are carved as one."""
    widest = min(CONTACT, SEAM * scene.scale * max(scene.anatomy.size))
    width = 2 * scene.scale * strip.clearance[run.members]
    if isinf(run.way) or width.min() > widest:
        return False
    seam = float(strip.lengths[run.members][width.max(axis=1) <= widest].sum())
    return (run.told - seam) * scene.scale <= 2 * CRUMBLING


def touching_findings(scene: Scene, lines: list[Run], lands: list[Run]) -> list[Finding]:
    """One finding for all places where shapes meet."""
    runs = [*lines, *lands]
    if not runs:
        return []
    widest = up(max(2 * scene.scale * max(run.clearance, 0.0) for run in runs))
    longest = up(max(run.told * scene.scale for run in runs))
    said = []
    if lines:
        said.append(
            f"{counted(len(lines), 'of them is', 'of them are')} carved as two shapes beside each other"
        )
    if lands:
        said.append(
            f"{counted(len(lands), 'of them is', 'of them are')} carved as one, and the wood beside the place "
            "crumbles"
        )
    return [
        Finding(
            kind="touching",
            severity="warns",
            place=on_slat(scene, runs),
            measured=widest,
            required=None,
            nominal=None,
            worst=None,
            message=f"Shapes touch or all but touch at {counted(len(runs), 'place', 'places')}, within "
            f"{at_most(widest)}: {' and '.join(said)}, over up to {at_most(longest)}.",
            cure="Nothing need be done if that is what is meant; else join them or draw them apart.",
            count=len(runs),
            length=longest,
        )
    ]
