"""Slats, bits, allowances and whole furniture models as plain JSON values, and back, exactly."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, fields
from typing import Any

from shapely import Polygon

from artwork.furniture import ModelLayout, Part, PlacedSlat, Surround
from artwork.workpiece import Allowances, Bit, KeepOut, Slat

Plain = dict[str, Any]


def allowances_plain(allowances: Allowances) -> Plain:
    """Field → value."""
    return asdict(allowances)


def allowances_from(plain: Mapping[str, Any]) -> Allowances:
    """Back; a field that is newer than what was stored takes its default."""
    known = {field.name for field in fields(Allowances)}
    return Allowances(**{name: value for name, value in plain.items() if name in known})


def bit_plain(bit: Bit) -> Plain:
    """Field → value."""
    return asdict(bit)


def bit_from(plain: Mapping[str, Any]) -> Bit:
    """Back."""
    return Bit(**plain)


def slat_plain(slat: Slat) -> Plain:
    """Field → value; shapes as rings of points."""
    plain = {**vars(slat), "outline": _rings(slat.outline)}
    plain["keep_outs"] = [
        {
            **{field.name: getattr(keep_out, field.name) for field in fields(keep_out)},
            "shape": _rings(keep_out.shape),
        }
        for keep_out in slat.keep_outs
    ]
    return plain


def slat_from(plain: Mapping[str, Any]) -> Slat:
    """Back."""
    keep_outs = tuple(KeepOut(**{**each, "shape": _polygon(each["shape"])}) for each in plain["keep_outs"])
    return Slat(**{**plain, "outline": _polygon(plain["outline"]), "keep_outs": keep_outs})


def layout_plain(layout: ModelLayout) -> Plain:
    """Field → value, slats and shapes as above."""
    return {
        "key": layout.key,
        "name": layout.name,
        "words": layout.words,
        "slats": [
            {
                "slat": slat_plain(placed.slat),
                "x": placed.x,
                "y": placed.y,
                "turn_deg": placed.turn_deg,
                "carries_art": placed.carries_art,
            }
            for placed in layout.slats
        ],
        "surrounds": [
            {
                "name": part.name,
                "outline": _rings(part.outline),
                "grain_deg": part.grain_deg,
                "behind": part.behind,
            }
            for part in layout.surrounds
        ],
        "parts": [asdict(part) for part in layout.parts],
        "shop_minutes": layout.shop_minutes,
        "assembly_minutes": layout.assembly_minutes,
    }


def layout_from(plain: Mapping[str, Any]) -> ModelLayout:
    """Back."""
    slats = tuple(PlacedSlat(**{**each, "slat": slat_from(each["slat"])}) for each in plain["slats"])
    surrounds = tuple(
        Surround(**{**each, "outline": _polygon(each["outline"])}) for each in plain["surrounds"]
    )
    parts = tuple(Part(**each) for each in plain["parts"])
    return ModelLayout(**{**plain, "slats": slats, "surrounds": surrounds, "parts": parts})


def _rings(shape: Polygon) -> list[list[list[float]]]:
    return [[[x, y] for x, y in ring.coords] for ring in (shape.exterior, *shape.interiors)]


def _polygon(rings: list[list[list[float]]]) -> Polygon:
    return Polygon(rings[0], rings[1:])
