"""What a workshop offers and sets, as JSON. Outlines are rings of points in mm, the outer one first, y up."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated

from pydantic import Field
from shapely import Polygon

from artwork.furniture import Part, PlacedSlat
from artwork.workpiece import Allowances, Bit
from service.orders.workshop import Settings, ShopBit, ShopModel, Workshop

Point = Annotated[tuple[float, ...], Field(min_length=2, max_length=2)]  # as plain a schema as there is
Rings = tuple[tuple[Point, ...], ...]


@dataclass(frozen=True)
class WorkshopBody:
    """A workshop as anyone sees it."""

    key: str
    name: str


@dataclass(frozen=True)
class WorkshopsBody:
    """The workshops that take orders here."""

    items: tuple[WorkshopBody, ...]


@dataclass(frozen=True)
class WorkshopSettingsBody:
    """A workshop's own settings."""

    key: str
    name: str
    revision: int
    allowances: Allowances
    usual_bit: str
    retention_days: int


@dataclass(frozen=True)
class KeepOutBody:
    """A place on the face where nothing may be carved."""

    shape: Rings
    reason: str
    free_depth: float


@dataclass(frozen=True)
class SlatBody:
    """One slat in its own frame and where it sits in the piece; lengths in mm."""

    key: str
    name: str
    outline: Rings
    thickness: float
    grain_deg: float
    round_over: float
    mill_radius: float
    species: str
    keep_outs: tuple[KeepOutBody, ...]
    x: float
    y: float
    turn_deg: float
    carries_art: bool


@dataclass(frozen=True)
class SurroundBody:
    """A part that is seen but never carved."""

    name: str
    outline: Rings
    grain_deg: float
    behind: bool


@dataclass(frozen=True)
class ModelBody:
    """A furniture model; `allowances` holds what some slats have over the workshop's."""

    key: str
    name: str
    words: str
    slats: tuple[SlatBody, ...]
    surrounds: tuple[SurroundBody, ...]
    parts: tuple[Part, ...]
    shop_minutes: float
    assembly_minutes: float
    allowances: Mapping[str, Mapping[str, float | bool]]
    revision: int
    retired: bool


@dataclass(frozen=True)
class BitBody:
    """A bit the workshop owns."""

    key: str
    angle_deg: float
    tip_flat: float
    diameter: float
    height: float
    revision: int
    retired: bool


@dataclass(frozen=True)
class ModelsBody:
    """What the workshop offers, by name."""

    items: tuple[ModelBody, ...]


@dataclass(frozen=True)
class SettingsBody:
    """Everything a workshop sets."""

    workshop: WorkshopSettingsBody
    models: tuple[ModelBody, ...]
    bits: tuple[BitBody, ...]


def workshop_body(workshop: Workshop) -> WorkshopBody:
    """What anyone may know."""
    return WorkshopBody(workshop.key, workshop.name)


def workshop_settings_body(workshop: Workshop) -> WorkshopSettingsBody:
    """The workshop's own settings."""
    return WorkshopSettingsBody(
        key=workshop.key,
        name=workshop.name,
        revision=workshop.revision,
        allowances=workshop.allowances,
        usual_bit=workshop.usual_bit,
        retention_days=workshop.retention_days,
    )


def rings(shape: Polygon) -> Rings:
    """The rings of a polygon, closed, the outer one first."""
    return tuple(
        tuple((float(x), float(y)) for x, y in ring.coords) for ring in (shape.exterior, *shape.interiors)
    )


def model_body(model: ShopModel) -> ModelBody:
    """From a model."""
    layout = model.layout
    return ModelBody(
        key=layout.key,
        name=layout.name,
        words=layout.words,
        slats=tuple(_slat_body(placed) for placed in layout.slats),
        surrounds=tuple(
            SurroundBody(part.name, rings(part.outline), part.grain_deg, part.behind)
            for part in layout.surrounds
        ),
        parts=layout.parts,
        shop_minutes=layout.shop_minutes,
        assembly_minutes=layout.assembly_minutes,
        allowances=model.allowances,
        revision=model.revision,
        retired=model.retired,
    )


def _slat_body(placed: PlacedSlat) -> SlatBody:
    slat = placed.slat
    return SlatBody(
        key=slat.key,
        name=slat.name,
        outline=rings(slat.outline),
        thickness=slat.thickness,
        grain_deg=slat.grain_deg,
        round_over=slat.round_over,
        mill_radius=slat.mill_radius,
        species=slat.species,
        keep_outs=tuple(KeepOutBody(rings(k.shape), k.reason, k.free_depth) for k in slat.keep_outs),
        x=placed.x,
        y=placed.y,
        turn_deg=placed.turn_deg,
        carries_art=placed.carries_art,
    )


def bit_body(owned: ShopBit) -> BitBody:
    """From a bit."""
    bit: Bit = owned.bit
    return BitBody(
        bit.key, bit.angle_deg, bit.tip_flat, bit.diameter, bit.height, owned.revision, owned.retired
    )


def settings_body(settings: Settings) -> SettingsBody:
    """From all settings."""
    return SettingsBody(
        workshop_settings_body(settings.workshop),
        tuple(model_body(model) for model in settings.models),
        tuple(bit_body(bit) for bit in settings.bits),
    )
