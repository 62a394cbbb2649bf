"""The other way round: the drawing of a cut from its canonical facts alone.

Whoever holds a proof's facts (``proof.json`` of a batch) can draw what was approved, without the artwork.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray
from shapely import Polygon

from artwork.curves import Contour, Floats
from artwork.cut import Cut, Placement
from artwork.digest import MICROMETRES
from artwork.outline import Outline
from artwork.workpiece import BARE, Allowances, Bit, KeepOut, Slat

_STRAIGHT = [np.nan] * 4


def cut_of_facts(facts: Mapping[str, Any], slat_name: str = "") -> Cut:
    """The cut that was approved, rebuilt from its facts alone: whatever is drawn of it is what was signed.

    Its outline is in slat mm, at scale 1. Curves lie within half a micrometre of those of the cut that the facts
    were made from; equal facts give equal drawings.

    Args:
        facts: of the proof.
        slat_name: what people call the slat, which is not among the facts; the key where empty.
    """
    where, pixel = facts["placement"], facts["pixel"]
    outline = Outline(
        tuple(_contour_of(contour) for contour in facts["outline"]),
        pixel=None if pixel is None else pixel / MICROMETRES,
        stated_mm=1.0,
    )
    placement = Placement(0.0, 0.0, 1.0, where["rotation_deg"], where["mirrored"])
    left, low, right, high = outline.bounds
    # the facts count from the centre of the outline before it was put on the grid, a placement from that of ours
    x, y = placement.matrix @ np.array([(left + right) / 2, (low + high) / 2])
    placement = replace(placement, x=where["x"] / MICROMETRES + x, y=where["y"] / MICROMETRES + y)
    slat = slat_of(facts)
    return Cut(
        outline,
        replace(slat, name=slat_name or slat.key),
        placement,
        bit_of(facts),
        allowances_of(facts),
    )


def slat_of(facts: Mapping[str, Any]) -> Slat:
    """The slat, to the micrometre; its people's name is not among the facts and stays its key."""
    slat = facts["slat"]
    return Slat(
        key=slat["key"],
        name=slat["key"],
        outline=_polygon(slat["outline"]),
        thickness=slat["thickness"],
        grain_deg=slat["grain_deg"],
        round_over=slat["round_over"],
        mill_radius=slat["mill_radius"],
        species=slat["species"],
        keep_outs=tuple(
            KeepOut(_polygon(each["shape"]), each["reason"], each["free_depth"]) for each in slat["keep_outs"]
        ),
        finish=slat.get("finish", BARE),
    )


def bit_of(facts: Mapping[str, Any]) -> Bit:
    """The bit."""
    return Bit(**facts["bit"])


def allowances_of(facts: Mapping[str, Any]) -> Allowances:
    """The allowances."""
    return Allowances(**facts["allowances"])


def art_lines(facts: Mapping[str, Any], tolerance: float) -> list[Floats]:
    """The placed curves in slat mm as closed lines, shape (n, 2) each, the first point not repeated.

    Args:
        facts: of the proof.
        tolerance: how far a line may lie off its curve, mm.
    """
    where = facts["placement"]
    lengths = [len(contour) for contour in facts["outline"]]
    segments = [
        segment if len(segment) == 6 else [*segment, *_STRAIGHT] for c in facts["outline"] for segment in c
    ]
    numbers = np.array(segments, np.float64) / MICROMETRES
    following = np.arange(1, len(numbers) + 1)
    following[np.cumsum(lengths) - 1] -= lengths  # the last segment of a contour ends where its first began
    points, counts = _sampled(numbers, numbers[following, :2], tolerance)
    turned = Placement(0.0, 0.0, 1.0, where["rotation_deg"], where["mirrored"]).matrix
    placed = points @ turned.T + np.array([where["x"], where["y"]]) / MICROMETRES
    per_contour = np.add.reduceat(counts, np.cumsum([0, *lengths[:-1]]))
    return np.split(placed, np.cumsum(per_contour)[:-1])


def _contour_of(segments: Sequence[Sequence[int]]) -> Contour:
    numbers = np.array([s if len(s) == 6 else [*s, *_STRAIGHT] for s in segments], np.float64) / MICROMETRES
    return Contour(numbers[:, :2], numbers[:, 2:].reshape(-1, 2, 2))


def _sampled(segments: Floats, ends: Floats, tolerance: float) -> tuple[Floats, NDArray[np.int64]]:
    """Points along all segments at once, and how many each gave; the bound is ``Contour.polyline``'s."""
    a, b, c = segments[:, :2], segments[:, 2:4], segments[:, 4:]
    bend = np.nan_to_num(np.maximum(np.hypot(*(a - 2 * b + c).T), np.hypot(*(b - 2 * c + ends).T)))
    counts = np.maximum(np.ceil(np.sqrt(6 * bend / (8 * tolerance))), 1).astype(np.int64)
    which = np.repeat(np.arange(len(counts)), counts)
    t = ((np.arange(len(which)) - (np.cumsum(counts) - counts)[which]) / counts[which])[:, None]
    a, b, c, d = a[which], b[which], c[which], ends[which]
    cubic = (1 - t) ** 3 * a + 3 * (1 - t) ** 2 * t * b + 3 * (1 - t) * t**2 * c + t**3 * d
    return np.where(np.isnan(b[:, :1]), a, cubic), counts


def _polygon(rings: Sequence[Sequence[Sequence[int]]]) -> Polygon:
    shell, *holes = (np.array(ring, np.float64) / MICROMETRES for ring in rings)
    return Polygon(shell, holes)
