"""Furniture and slats drawn as SVG from the API's figures.

Slat and piece frames have y up; SVG has it down.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from cachetools import LRUCache

Json = Mapping[str, Any]
Rings = Sequence[Sequence[Sequence[float]]]
_MOST_VIEWS = 64


@dataclass(frozen=True)
class Bounds:
    """A box in mm, y up."""

    left: float
    low: float
    right: float
    high: float

    @property
    def width(self) -> float:
        """From left to right."""
        return self.right - self.left

    @property
    def height(self) -> float:
        """From low to high."""
        return self.high - self.low

    def grown(self, by: float) -> Bounds:
        """The box with a margin all round."""
        return Bounds(self.left - by, self.low - by, self.right + by, self.high + by)

    @property
    def view_box(self) -> str:
        """For an SVG whose y is the negative of ours."""
        return f"{short(self.left)} {short(-self.high)} {short(self.width)} {short(self.height)}"


@dataclass(frozen=True)
class DrawnSlat:
    """One slat of a drawn piece.

    Attributes:
        path: SVG path in the piece's frame, y down.
        box: where it is within the picture, as CSS has it, a little wider for fingers; the picture is a container.
        across: whether the grain runs from left to right.
        size: how large it looks, mm².
    """

    key: str
    name: str
    carries_art: bool
    path: str
    box: str
    across: bool
    bounds: Bounds

    @property
    def size(self) -> int:
        """Whole mm²: slats that look alike come out alike."""
        return round(self.bounds.width) * round(self.bounds.height)


FAMILY = 3
"""So many slats with the same first words are named together."""


def families(slats: Iterable[DrawnSlat]) -> list[tuple[str, list[tuple[DrawnSlat, str]]]]:
    """Slats to choose from, the largest first, alike ones together.

    Returns:
        by family the words they share before the last comma, empty for slats of no family; and each slat with
        what it is called there.
    """
    largest_first = sorted(slats, key=lambda slat: slat.size, reverse=True)
    shared = Counter(slat.name.rpartition(", ")[0] for slat in largest_first)
    found: dict[str, list[tuple[DrawnSlat, str]]] = {"": []}
    for slat in largest_first:
        family, _, own = slat.name.rpartition(", ")
        if not family or shared[family] < FAMILY:
            family, own = "", slat.name
        found.setdefault(family, []).append((slat, own))
    return [(family, alike) for family, alike in found.items() if alike]


@dataclass(frozen=True)
class PieceView:
    """A furniture model drawn from the front."""

    bounds: Bounds
    slats: tuple[DrawnSlat, ...]
    behind: tuple[str, ...]
    before: tuple[str, ...]


@dataclass(frozen=True)
class SlatView:
    """One slat drawn in its own frame."""

    bounds: Bounds
    path: str
    keep_outs: tuple[tuple[str, str], ...]
    thickness: float
    grain: float


def short(value: float) -> str:
    """A figure for an SVG: hundredths, no trailing zeros."""
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text in {"-0", ""} else text


def ring_path(rings: Rings) -> str:
    """Closed rings as one SVG path, y flipped."""
    parts = []
    for ring in rings:
        points = list(ring[:-1]) if len(ring) > 1 and list(ring[0]) == list(ring[-1]) else list(ring)
        parts.append("M" + "L".join(f"{short(x)} {short(-y)}" for x, y in points) + "Z")
    return "".join(parts)


def bounds_of(points: Iterable[Sequence[float]]) -> Bounds:
    """The box around some points."""
    xs, ys = zip(*((p[0], p[1]) for p in points), strict=True)
    return Bounds(min(xs), min(ys), max(xs), max(ys))


def _placed(slat: Json) -> list[list[list[float]]]:
    turn = math.radians(slat.get("turn_deg", 0.0))
    cos, sin = math.cos(turn), math.sin(turn)
    return [
        [[slat["x"] + cos * u - sin * v, slat["y"] + sin * u + cos * v] for u, v in ring]
        for ring in slat["outline"]
    ]


_views: LRUCache[int, tuple[Json, PieceView]] = LRUCache(_MOST_VIEWS)


def piece_view(model: Json) -> PieceView:
    """A model from the front, with every slat where it sits; drawn once of each that pages have before them."""
    kept = _views.get(id(model))
    if (
        kept is None or kept[0] is not model
    ):  # it is kept with its view, so that no other gets its address meanwhile
        kept = _views[id(model)] = model, _piece_view(model)
    return kept[1]


def _piece_view(model: Json) -> PieceView:
    placed = [(slat, _placed(slat)) for slat in model["slats"] if slat.get("face") != "rear"]
    points = [p for _, rings in placed for p in rings[0]]
    points += [p for part in model["surrounds"] for p in part["outline"][0]]
    bounds = bounds_of(points).grown(30.0)
    return PieceView(
        bounds,
        tuple(_drawn(slat, rings, bounds) for slat, rings in placed),
        tuple(ring_path(part["outline"]) for part in model["surrounds"] if part["behind"]),
        tuple(ring_path(part["outline"]) for part in model["surrounds"] if not part["behind"]),
    )


def _drawn(slat: Json, rings: list[list[list[float]]], whole: Bounds) -> DrawnSlat:
    own = bounds_of(rings[0])
    return DrawnSlat(
        slat["key"],
        slat["name"],
        slat["carries_art"],
        ring_path(rings),
        _box(own, whole),
        not 45 <= -(slat["grain_deg"] + slat.get("turn_deg", 0.0)) % 180 <= 135,
        own,
    )


def _box(own: Bounds, whole: Bounds) -> str:
    def part(length: float) -> str:
        return f"{round(100 * length / whole.width, 3)}cqw"

    left, top = part(own.left - whole.left), part(whole.high - own.high)
    return f"left:calc({left} - 3px);top:{top};width:calc({part(own.width)} + 6px);height:{part(own.height)}"


def slat_view(slat: Json, margin: float = 8.0) -> SlatView:
    """A slat by itself."""
    return SlatView(
        bounds_of(slat["outline"][0]).grown(margin),
        ring_path(slat["outline"]),
        tuple((ring_path(keep_out["shape"]), keep_out["reason"]) for keep_out in slat["keep_outs"]),
        slat["thickness"],
        -slat["grain_deg"],
    )


def _points(geometry: Json) -> list[Sequence[float]]:
    if geometry["type"] == "GeometryCollection":
        return [point for part in geometry["geometries"] for point in _points(part)]
    found: list[Sequence[float]] = []
    stack: list[Any] = [geometry.get("coordinates", ())]
    while stack:
        top = stack.pop()
        if top and isinstance(top[0], int | float):
            found.append(top)
        else:
            stack.extend(top)
    return found


def centre_of(geometry: Json | None) -> tuple[float, float] | None:
    """The middle of a geometry's box, slat mm, for its number; ``None`` for an empty one."""
    points = _points(geometry) if geometry else []
    if not points:
        return None
    box = bounds_of(points)
    return (box.left + box.right) / 2, (box.low + box.high) / 2
