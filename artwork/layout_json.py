"""Whole furniture models as plain JSON values, and back, exactly; shapes are GeoJSON in mm."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict
from typing import Any

from shapely import Polygon
from shapely.geometry import mapping, shape

from artwork.furniture import ModelLayout, Part, PlacedSlat, Surround
from artwork.jsonable import slat_from_json, slat_to_json


def layout_to_json(layout: ModelLayout) -> dict[str, Any]:
    """Field → value."""
    return {
        **vars(layout),
        "slats": [{**vars(placed), "slat": slat_to_json(placed.slat)} for placed in layout.slats],
        "surrounds": [{**vars(part), "outline": mapping(part.outline)} for part in layout.surrounds],
        "parts": [asdict(part) for part in layout.parts],
    }


def layout_from_json(data: Mapping[str, Any]) -> ModelLayout:
    """The inverse of :func:`layout_to_json`."""
    slats = tuple(PlacedSlat(**{**each, "slat": slat_from_json(each["slat"])}) for each in data["slats"])
    surrounds = tuple(
        Surround(**{**each, "outline": _polygon(each["outline"])}) for each in data["surrounds"]
    )
    parts = tuple(Part(**each) for each in data["parts"])
    return ModelLayout(**{**data, "slats": slats, "surrounds": surrounds, "parts": parts})


def _polygon(data: dict[str, Any]) -> Polygon:
    found = shape(data)
    if not isinstance(found, Polygon):
        raise ValueError(f"expected a Polygon, not a {found.geom_type}")
    return found
