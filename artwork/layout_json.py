"""Whole furniture models as plain JSON values, and back, exactly; shapes are GeoJSON in mm."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict
from typing import Any

from shapely import Polygon
from shapely.geometry import mapping, shape

from artwork.furniture import DrilledHole, ModelLayout, Part, PlacedSlat, Surround
from artwork.jsonable import slat_from_json, slat_to_json

_LATER: Mapping[str, Any] = {"art_high": None, "carries_mark": False, "face": "front"}
"""Fields that models of before did not have, and what they are where nothing is said."""


def layout_to_json(layout: ModelLayout) -> dict[str, Any]:
    """Field → value."""
    return {
        **vars(layout),
        "slats": [_placed_to_json(placed) for placed in layout.slats],
        "surrounds": [{**vars(part), "outline": mapping(part.outline)} for part in layout.surrounds],
        "parts": [_part_to_json(part) for part in layout.parts],
    }


def layout_from_json(data: Mapping[str, Any]) -> ModelLayout:
    """The inverse of :func:`layout_to_json`."""
    slats = tuple(_placed_from_json(each) for each in data["slats"])
    surrounds = tuple(
        Surround(**{**each, "outline": _polygon(each["outline"])}) for each in data["surrounds"]
    )
    parts = tuple(_part_from_json(each) for each in data["parts"])
    return ModelLayout(**{**data, "slats": slats, "surrounds": surrounds, "parts": parts})


def _placed_to_json(placed: PlacedSlat) -> dict[str, Any]:
    """What came later and is not used is left out: layouts that were frozen before it stay as they are."""
    said = {name: held for name, held in vars(placed).items() if name not in _LATER or held != _LATER[name]}
    return {**said, "slat": slat_to_json(placed.slat)}


def _placed_from_json(data: Mapping[str, Any]) -> PlacedSlat:
    return PlacedSlat(**{**data, "slat": slat_from_json(data["slat"])})


def _part_to_json(part: Part) -> dict[str, Any]:
    said = asdict(part)
    return said if said["holes"] else {name: held for name, held in said.items() if name != "holes"}


def _part_from_json(data: Mapping[str, Any]) -> Part:
    return Part(**{**data, "holes": tuple(DrilledHole(**each) for each in data.get("holes", ()))})


def _polygon(data: dict[str, Any]) -> Polygon:
    found = shape(data)
    if not isinstance(found, Polygon):
        raise ValueError(f"expected a Polygon, not a {found.geom_type}")
    return found
