"""Shapes: GeoJSON geometries in millimetres."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, NewType

import strawberry
from shapely.geometry import mapping
from strawberry.types.scalar import ScalarDefinition


def _geometry(shape: Any) -> Mapping[str, Any]:
    plain: Mapping[str, Any] = shape if isinstance(shape, Mapping) else mapping(shape)
    return plain


GeoJSON = NewType("GeoJSON", object)
"""A shape, as the engine has it or as it is stored."""
SCALARS: dict[object, ScalarDefinition] = {
    GeoJSON: strawberry.scalar(
        name="GeoJSON",
        description="A geometry of RFC 7946 §3.1 (`type` and `coordinates`). Coordinates are millimetres, x across and "
        "y up, in the frame that the field names: not longitudes.",
        specified_by_url="https://www.rfc-editor.org/rfc/rfc7946#section-3.1",
        serialize=_geometry,
        parse_value=GeoJSON,
    )
}
"""The graph's own scalars."""
