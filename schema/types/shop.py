"""What a workshop offers and sets."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, cast

import strawberry
from strawberry.scalars import JSON

from artwork.furniture import ModelLayout, PlacedSlat
from service.orders import workshop as shop
from service.rest.responses.shop import rings


@strawberry.type
class Allowances:
    """What a shop allows for; all mm unless the name says otherwise."""

    sanding: float
    sanding_made_up: bool
    unevenness: float
    least_depth: float
    land_along: float
    land_across: float
    depth_limit_share: float
    least_wood: float
    edge_margin: float
    keep_out_margin: float
    end_margin: float
    feed: float
    plunge: float
    pass_depth: float
    coarsest_pixel: float
    least_width: float
    finish_film: float
    cup: float
    floor_ridge: float
    flat_bit: float
    flat_bit_step: float
    last_pass: float
    rapid: float
    lift: float
    acceleration: float
    tool_change: float
    time_scale: float


@strawberry.type
class Slat:
    """One slat in its own frame and where it sits in the piece; lengths in mm, y up."""

    key: str
    name: str
    outline: JSON = strawberry.field(description="GeoJSON polygon.")
    thickness: float
    grain_deg: float
    round_over: float
    mill_radius: float
    species: str
    keep_outs: JSON = strawberry.field(description="`{reason, shape}` objects, shapes as GeoJSON polygons.")
    x: float
    y: float
    turn_deg: float
    carries_art: bool


@strawberry.type
class Model:
    """A furniture model."""

    key: str
    name: str
    words: str
    slats: list[Slat]
    parts: JSON = strawberry.field(description="The part list of one piece.")
    surrounds: JSON = strawberry.field(description="Parts that are seen but never carved.")
    shop_minutes: float
    assembly_minutes: float
    allowances: JSON = strawberry.field(description="Slat key → what it has over the workshop's allowances.")
    revision: int
    retired: bool


@strawberry.type
class Bit:
    """A V-bit of the workshop; lengths in mm."""

    key: str
    angle_deg: float
    tip_flat: float
    diameter: float
    height: float
    revision: int
    retired: bool


@strawberry.type
class Workshop:
    """A workshop as anyone sees it."""

    key: str
    name: str
    models: list[Model]


@strawberry.type
class WorkshopSettings:
    """A workshop's own settings."""

    key: str
    name: str
    revision: int
    allowances: Allowances
    usual_bit: str
    retention_days: int


@strawberry.type
class Settings:
    """Everything a workshop sets."""

    workshop: WorkshopSettings
    models: list[Model]
    bits: list[Bit]


def _polygon(shape: Any) -> JSON:
    return JSON({"type": "Polygon", "coordinates": rings(shape)})


def model_of(model: shop.ShopModel) -> Model:
    """From a model of the rules."""
    layout: ModelLayout = model.layout
    return Model(
        key=layout.key,
        name=layout.name,
        words=layout.words,
        slats=[_slat_of(placed) for placed in layout.slats],
        parts=JSON([vars(part) for part in layout.parts]),
        surrounds=JSON(
            [
                {
                    "name": part.name,
                    "outline": _polygon(part.outline),
                    "grainDeg": part.grain_deg,
                    "behind": part.behind,
                }
                for part in layout.surrounds
            ]
        ),
        shop_minutes=layout.shop_minutes,
        assembly_minutes=layout.assembly_minutes,
        allowances=JSON(_plain(model.allowances)),
        revision=model.revision,
        retired=model.retired,
    )


def _plain(value: Mapping[str, Mapping[str, Any]]) -> dict[str, dict[str, Any]]:
    return {key: dict(fields) for key, fields in value.items()}


def _slat_of(placed: PlacedSlat) -> Slat:
    slat = placed.slat
    return Slat(
        key=slat.key,
        name=slat.name,
        outline=_polygon(slat.outline),
        thickness=slat.thickness,
        grain_deg=slat.grain_deg,
        round_over=slat.round_over,
        mill_radius=slat.mill_radius,
        species=slat.species,
        keep_outs=JSON([{"reason": k.reason, "shape": _polygon(k.shape)} for k in slat.keep_outs]),
        x=placed.x,
        y=placed.y,
        turn_deg=placed.turn_deg,
        carries_art=placed.carries_art,
    )


def bit_of(owned: shop.ShopBit) -> Bit:
    """From a bit of the rules."""
    return Bit(**vars(owned.bit), revision=owned.revision, retired=owned.retired)


def workshop_settings_of(workshop: shop.Workshop) -> WorkshopSettings:
    """From a workshop of the rules."""
    return WorkshopSettings(
        key=workshop.key,
        name=workshop.name,
        revision=workshop.revision,
        allowances=cast("Allowances", workshop.allowances),
        usual_bit=workshop.usual_bit,
        retention_days=workshop.retention_days,
    )
