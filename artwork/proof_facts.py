"""The other way round: the drawing of a cut from its canonical facts alone.

Whoever holds a proof's facts (``proof.json`` of a batch) can draw what was approved, without the artwork.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
from shapely import Polygon

from artwork.curves import Contour
from artwork.cut import Placement
from artwork.digest import MICROMETRES
from artwork.workpiece import Allowances, Bit, KeepOut, Slat

_STRAIGHT = [np.nan] * 4


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
    )


def bit_of(facts: Mapping[str, Any]) -> Bit:
    """The bit."""
    return Bit(**facts["bit"])


def allowances_of(facts: Mapping[str, Any]) -> Allowances:
    """The allowances."""
    return Allowances(**facts["allowances"])


def art_of(facts: Mapping[str, Any]) -> tuple[Contour, ...]:
    """The placed curves in slat mm, to the micrometre, outer ones counter-clockwise."""
    where = facts["placement"]
    turned = Placement(0.0, 0.0, 1.0, where["rotation_deg"], where["mirrored"])
    shift = np.array([where["x"], where["y"]]) / MICROMETRES
    placed = (_contour(segments).moved(turned.matrix, shift) for segments in facts["outline"])
    return tuple(curve.reversed() if where["mirrored"] else curve for curve in placed)


def _contour(segments: Sequence[Sequence[int]]) -> Contour:
    numbers = np.array([segment if len(segment) == 6 else [*segment, *_STRAIGHT] for segment in segments])
    numbers = numbers.astype(np.float64) / MICROMETRES
    return Contour(numbers[:, :2], numbers[:, 2:].reshape(-1, 2, 2))


def _polygon(rings: Sequence[Sequence[Sequence[int]]]) -> Polygon:
    shell, *holes = (np.array(ring, np.float64) / MICROMETRES for ring in rings)
    return Polygon(shell, holes)
