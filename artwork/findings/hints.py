"""Hints that do not contradict each other: none asks for what this slat or another finding rules out."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable
from dataclasses import replace

from artwork.errors import EngineError
from artwork.findings.values import Finding
from artwork.placing import LEAST_SIZE, Hull, fit
from artwork.scene import Scene

TOO_THIN = {"line", "vanishing", "tip"}
"""Findings that ask for thicker lines."""
TOO_TIGHT = {"land", "counter", "land-tip"}
"""Findings that ask for thinner ones."""
GROWING = ("larger",)
"""Words of hints that ask for more size."""
EITHER_WAY = ("thicken", "thin its")
"""Words of hints that contradict each other where lines are too thin and wood is too tight."""
ROOM = 1.02
"""Art that fits in no more than this times its size is as large as the slat allows."""


def consistent(scene: Scene, found: Iterable[Finding]) -> list[Finding]:
    """The findings with hints that can be followed.

    'Make it larger' is not said where the art is as large as fits; neither 'thicken' nor 'thin' where lines are
    too thin and wood is too tight at once.
    """
    every = list(found)
    stopping = {each.kind for each in every if each.severity == "stops"}
    if not stopping & (TOO_THIN | TOO_TIGHT):
        return every
    dropped = [] if _may_grow(scene) else [*GROWING]
    if stopping & TOO_THIN and stopping & TOO_TIGHT:
        dropped += EITHER_WAY
    return [
        replace(each, cure=without(each.cure, dropped)) if each.kind in TOO_THIN | TOO_TIGHT else each
        for each in every
    ]


def _may_grow(scene: Scene) -> bool:
    cut, anatomy = scene.cut, scene.anatomy
    hull = Hull(anatomy.hull - anatomy.centre, LEAST_SIZE / max(anatomy.size))
    try:
        largest = fit(
            hull,
            cut.slat,
            cut.allowances,
            cut.placement.rotation_deg,
            cut.placement.mirrored,
        )
    except EngineError:
        return False
    return largest.scale > scene.scale * ROOM


def without(hint: str, dropped: Collection[str]) -> str:
    """A hint's alternatives ('Do this, that, or the other.') less those that name something dropped."""
    ways = re.split(r", or |, ", hint.removesuffix("."))
    kept = [way for way in ways if not any(word in way.lower() for word in dropped)]
    if not kept or len(kept) == len(ways):
        return hint
    first, *others = kept
    joined = f"{first[0].upper()}{first[1:]}"
    if others:
        joined = f"{', '.join([joined, *others[:-1]])}, or {others[-1]}"
    return f"{joined}."
