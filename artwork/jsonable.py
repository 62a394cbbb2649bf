"""Engine values ↔ plain JSON values, exact both ways.

Shapes are GeoJSON geometries whose coordinates are slat millimetres, not longitudes.
"""

from __future__ import annotations

from dataclasses import asdict, fields
from typing import Any, TypeVar

import shapely
from shapely import Polygon, line_merge
from shapely.geometry import mapping, shape
from shapely.geometry.base import BaseGeometry

from artwork.cut import Placement
from artwork.findings.values import Check, Figures, Finding
from artwork.tooling import Cost
from artwork.workpiece import BARE, Allowances, Bit, KeepOut, Slat

Json = dict[str, Any]
Plain = TypeVar("Plain", Bit, Allowances, Placement)

PLACE_DECIMALS = 3
"""Places of findings are told to the micrometre."""


def slat_to_json(slat: Slat) -> Json:
    """A slat with its outline and keep-outs."""
    return {
        "key": slat.key,
        "name": slat.name,
        "outline": mapping(slat.outline),
        "thickness": slat.thickness,
        "grain_deg": slat.grain_deg,
        "round_over": slat.round_over,
        "mill_radius": slat.mill_radius,
        "species": slat.species,
        "keep_outs": [
            {"shape": mapping(each.shape), "reason": each.reason, "free_depth": each.free_depth}
            for each in slat.keep_outs
        ],
        **({} if slat.finish == BARE else {"finish": slat.finish}),
    }


def slat_from_json(data: Json) -> Slat:
    """The inverse of :func:`slat_to_json`."""
    keep_outs = tuple(
        KeepOut(_polygon(each["shape"]), each["reason"], each["free_depth"]) for each in data["keep_outs"]
    )
    plain = {name: data[name] for name in data if name not in ("outline", "keep_outs")}
    return Slat(outline=_polygon(data["outline"]), keep_outs=keep_outs, **plain)


def bit_to_json(bit: Bit) -> Json:
    """A bit."""
    return asdict(bit)


def bit_from_json(data: Json) -> Bit:
    """The inverse of :func:`bit_to_json`."""
    return _plain(Bit, data)


def allowances_to_json(allowances: Allowances) -> Json:
    """Allowances."""
    return asdict(allowances)


def allowances_from_json(data: Json) -> Allowances:
    """The inverse of :func:`allowances_to_json`; what an older record lacks takes its default."""
    return _plain(Allowances, data)


def placement_to_json(placement: Placement) -> Json:
    """A placement."""
    return asdict(placement)


def placement_from_json(data: Json) -> Placement:
    """The inverse of :func:`placement_to_json`."""
    return _plain(Placement, data)


def check_to_json(check: Check) -> Json:
    """A check with its findings and their places."""
    return {
        "verdict": check.verdict,
        "sentence": check.sentence,
        "findings": [finding_to_json(finding) for finding in check.findings],
        "figures": asdict(check.figures),
    }


def check_from_json(data: Json) -> Check:
    """The inverse of :func:`check_to_json`; places come back on the micrometre."""
    figures = dict(data["figures"])
    figures["assumptions"] = tuple(figures["assumptions"])
    for costs in ("line_costs", "land_costs"):
        figures[costs] = tuple(Cost(**each) for each in figures.get(costs, ()))
    return Check(
        data["verdict"],
        data["sentence"],
        tuple(finding_from_json(finding) for finding in data["findings"]),
        Figures(**figures),
    )


def finding_to_json(finding: Finding) -> Json:
    """A finding; its place as a GeoJSON geometry."""
    found = {field.name: getattr(finding, field.name) for field in fields(finding)}
    # rounds the numbers only: snapping the shape as a whole could collapse slivers
    rounded = shapely.transform(_joined(finding.place), lambda points: points.round(PLACE_DECIMALS))
    found["place"] = mapping(rounded)
    return found


def _joined(place: BaseGeometry) -> BaseGeometry:
    """Lines that follow one another as one line: half of what would be stored and sent otherwise."""
    return line_merge(place) if place.geom_type == "MultiLineString" else place


def finding_from_json(data: Json) -> Finding:
    """The inverse of :func:`finding_to_json`."""
    return Finding(**{**data, "place": shape(data["place"])})


def _polygon(data: Json) -> Polygon:
    found = shape(data)
    if not isinstance(found, Polygon):
        raise ValueError(f"expected a Polygon, not a {found.geom_type}")
    return found


def _plain(kind: type[Plain], data: Json) -> Plain:
    return kind(**data)
