"""Which findings are told: the first cause alone, and what is the same at several places once."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

from shapely import GeometryCollection, LineString, MultiLineString, MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from artwork.findings.values import Finding


def told(found: Iterable[Finding], slat: BaseGeometry) -> tuple[Finding, ...]:
    """Those that stop first, as they are told.

    Args:
        found: everything found.
        slat: outline of the slat; what lies wholly beyond it is told as lying beyond it, and nothing else.
    """
    every = list(found)
    if any(finding.kind == "off-slat" for finding in every):
        every = [each for each in every if each.kind == "off-slat" or each.place.intersects(slat)]
    alike: dict[tuple[object, ...], list[Finding]] = {}
    for each in every:
        alike.setdefault((each.kind, each.severity, each.message, each.cure), []).append(each)
    once = [_together(group) for group in alike.values()]
    return tuple(sorted(once, key=lambda finding: finding.severity != "stops"))


def _together(group: Sequence[Finding]) -> Finding:
    """Findings that say the same, as one of several places."""
    first = group[0]
    if len(group) == 1:
        return first
    lengths = [each.length for each in group if each.length is not None]
    return replace(
        first,
        place=_gathered([each.place for each in group]),
        message=f"At {len(group)} places: {first.message}",
        count=sum(each.count for each in group),
        length=sum(lengths) if lengths else None,
    )


def _gathered(places: Sequence[BaseGeometry]) -> BaseGeometry:
    """Places side by side, of one kind where they are."""
    parts = [part for place in places for part in getattr(place, "geoms", [place])]
    if all(isinstance(part, Polygon) for part in parts):
        return MultiPolygon(parts)
    if all(isinstance(part, LineString) for part in parts):
        return MultiLineString(parts)
    return GeometryCollection(parts)
