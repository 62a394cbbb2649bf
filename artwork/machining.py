"""How long the bit runs: an estimate, with everything it assumes."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from artwork import tooling
from artwork.curves import Floats
from artwork.scene import Scene

FLOOR_STEP = 0.5
"""Distance between neighbouring passes over a floor, mm, unless the tip flat is wider (common practice, no source)."""
LIFT = 5.0
"""Height above the face between cuts, mm (common practice, no source)."""
RAPID = 5000.0
"""Speed between cuts, mm/min (common practice, no source)."""


@dataclass(frozen=True)
class Carving:
    """An estimate.

    Attributes:
        minutes: of machine time.
        path_length: along axis, corners and floors, one pass, mm.
        assumptions: sentences.
    """

    minutes: float
    path_length: float
    assumptions: tuple[str, ...]


def carving_time(scene: Scene, floor_area: float) -> Carving:
    """Time for one cut: along the axis and into corners with feed, in passes of the shop's depth, and floors.

    Args:
        scene: the cut.
        floor_area: mm² with a flat bottom.
    """
    allowances, bit = scene.cut.allowances, scene.cut.bit
    axis = scene.anatomy.lines
    length = np.concatenate([axis.lengths, axis.corner_lengths]) * scene.scale
    clearance = np.concatenate([axis.clearance.mean(axis=1), axis.corner_clearance]) * scene.scale
    depth = np.minimum(tooling.groove_depth(2 * clearance, bit), scene.limit)
    passes = np.maximum(np.ceil(depth / allowances.pass_depth - 1e-9), 1.0)
    step = max(FLOOR_STEP, bit.tip_flat)
    floor_passes = max(float(np.ceil(scene.limit / allowances.pass_depth - 1e-9)), 1.0)
    floor_length = floor_area / step
    cutting = float((length * passes).sum() + floor_length * floor_passes) / allowances.feed
    entries = _entries(scene, passes)
    drops = entries * (LIFT + float(depth.mean() if len(depth) else 0.0)) / allowances.plunge
    travel = _travel(scene)
    return Carving(
        cutting + drops + travel / RAPID,
        float(length.sum()) + floor_length,
        _assumptions(scene, step, floor_area),
    )


def _entries(scene: Scene, passes: Floats) -> float:
    """Plunges: one per piece of art and pass."""
    return len(scene.anatomy.lines.peak) * float(passes.max(initial=1.0))


def _travel(scene: Scene) -> float:
    """From piece to piece: through the pieces' widest places from left to right, there and back, mm."""
    places = scene.place(scene.anatomy.lines.peak_place)
    order = np.argsort(places[:, 0])
    return float(2 * np.hypot(*np.diff(places[order], axis=0).T).sum())


def _assumptions(scene: Scene, step: float, floor_area: float) -> tuple[str, ...]:
    allowances = scene.cut.allowances
    found = [
        f"Feed {allowances.feed:.0f} mm/min, plunge {allowances.plunge:.0f} mm/min, "
        f"{RAPID:.0f} mm/min between cuts, {LIFT:.0f} mm above the face.",
        f"Passes of {allowances.pass_depth:.1f} mm, each over the whole length that is deeper.",
        "One plunge per part and pass; no tool change, clamping or zeroing.",
    ]
    if floor_area > 0:
        found.append(f"Flat bottoms cleared with the same bit in lines {step:.2f} mm apart.")
    return tuple(found)
