"""How long the bit runs: an estimate, with everything it assumes."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from artwork import tooling
from artwork.curves import Floats
from artwork.scene import Scene

FLOOR_STEP = 0.5
"""Distance between passes over a floor, mm, unless the tip flat is wider (common practice, no source)."""
LIFT = 5.0
"""Height above the face between cuts, mm (common practice, no source)."""
RAPID = 5000.0
"""Speed between cuts, mm/min (common practice, no source)."""
PACE = 0.6
"""Share of the set feed that is kept on average over short, turning moves (common practice, no source)."""
THERE_AND_BACK = 2.0
"""Branches of an axis end blind: the bit runs out along each and comes back."""


@dataclass(frozen=True)
class Carving:
    """An estimate.

    Attributes:
        minutes: of machine time.
        path_length: along axis, corners and floors, once, mm.
        assumptions: sentences.
    """

    minutes: float
    path_length: float
    assumptions: tuple[str, ...]


def carving_time(scene: Scene, floor_area: float) -> Carving:
    """Time for one cut: along the axis and into corners, in passes of the shop's depth, and over floors.

    On slopes the downward speed is held to the plunge rate.

    Args:
        scene: the cut.
        floor_area: mm² with a flat bottom.
    """
    allowances = scene.cut.allowances
    length, depth, climb = _moves(scene)
    passes = np.maximum(np.ceil(depth / allowances.pass_depth - 1e-9), 1.0)
    minutes = np.maximum(length / (allowances.feed * PACE), climb / allowances.plunge)
    cutting = float((minutes * passes).sum()) * THERE_AND_BACK
    step = max(FLOOR_STEP, scene.cut.bit.tip_flat)
    floor_length = floor_area / step
    floor_passes = max(float(np.ceil(scene.limit / allowances.pass_depth - 1e-9)), 1.0)
    floors = floor_length * floor_passes / (allowances.feed * PACE)
    entries = len(scene.anatomy.lines.peak) * float(passes.max(initial=1.0))
    plunges = entries * (LIFT + float(depth.mean() if len(depth) else 0.0)) / allowances.plunge
    return Carving(
        cutting + floors + plunges + _travel(scene) / RAPID,
        float(length.sum()) + floor_length,
        _assumptions(scene, step, floor_area),
    )


def _moves(scene: Scene) -> tuple[Floats, Floats, Floats]:
    """Length, greatest depth and difference of depth of every move along the axis and into corners, mm."""
    axis = scene.anatomy.lines
    clearance = np.concatenate([axis.clearance, axis.corner_clearance]) * scene.scale
    reached = np.minimum(tooling.groove_depth(2 * clearance.ravel(), scene.cut.bit), scene.limit)
    depth = reached.reshape(clearance.shape)
    length = np.concatenate([axis.lengths, axis.corner_lengths]) * scene.scale
    return length, depth.max(axis=1), np.abs(np.diff(depth, axis=1)).ravel()


def _travel(scene: Scene) -> float:
    """From part to part through their widest places, left to right, and back, mm."""
    places = scene.place(scene.anatomy.lines.peak_place)
    order = np.argsort(places[:, 0], kind="stable")
    return float(2 * np.hypot(*np.diff(places[order], axis=0).T).sum())


def _assumptions(scene: Scene, step: float, floor_area: float) -> tuple[str, ...]:
    allowances = scene.cut.allowances
    found = [
        f"Feed {allowances.feed:.0f} mm/min, of which {PACE:.0%} is kept on average over short moves; "
        f"downwards at most {allowances.plunge:.0f} mm/min; {RAPID:.0f} mm/min between cuts, {LIFT:.0f} mm "
        "above the face.",
        f"Passes of {allowances.pass_depth:.1f} mm, each over all places that are deeper; "
        "every branch there and back.",
        "One plunge per part and pass. Tool changes, clamping and zeroing are not counted.",
    ]
    if floor_area > 0:
        found.append(f"Flat bottoms cleared with the same bit in lines {step:.2f} mm apart.")
    return tuple(found)
