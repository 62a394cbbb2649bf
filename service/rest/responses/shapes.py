"""Shapes as GeoJSON geometries (RFC 7946 §3.1), in slat millimetres: x across, y up; not longitudes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Literal

from pydantic import Field

Position = Annotated[
    tuple[float, ...], Field(min_length=2, max_length=2, description="x and y, slat mm, y up")
]
Ring = tuple[Position, ...]


@dataclass(frozen=True)
class PointShape:
    """A place."""

    type: Literal["Point"]
    coordinates: Position


@dataclass(frozen=True)
class LineShape:
    """A line."""

    type: Literal["LineString"]
    coordinates: tuple[Position, ...]


@dataclass(frozen=True)
class PolygonShape:
    """An area: its edge, then its holes, each a closed ring."""

    type: Literal["Polygon"]
    coordinates: tuple[Ring, ...]


@dataclass(frozen=True)
class PointsShape:
    """Several places."""

    type: Literal["MultiPoint"]
    coordinates: tuple[Position, ...]


@dataclass(frozen=True)
class LinesShape:
    """Several lines."""

    type: Literal["MultiLineString"]
    coordinates: tuple[tuple[Position, ...], ...]


@dataclass(frozen=True)
class PolygonsShape:
    """Several areas."""

    type: Literal["MultiPolygon"]
    coordinates: tuple[tuple[Ring, ...], ...]


Simple = Annotated[
    PointShape | LineShape | PolygonShape | PointsShape | LinesShape | PolygonsShape,
    Field(discriminator="type"),
]


@dataclass(frozen=True)
class ShapesShape:
    """Shapes of several kinds."""

    type: Literal["GeometryCollection"]
    geometries: tuple[Simple, ...]


Shape = Annotated[
    PointShape | LineShape | PolygonShape | PointsShape | LinesShape | PolygonsShape | ShapesShape,
    Field(discriminator="type", description="where, as GeoJSON in slat mm, y up"),
]
