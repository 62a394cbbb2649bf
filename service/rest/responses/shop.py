"""What a workshop offers and sets, as JSON. Outlines are rings of points in mm, the outer one first, y up."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated

from pydantic import Field
from shapely import Polygon, get_coordinates

from artwork.furniture import Face, ModelLayout, PlacedSlat, Surround
from artwork.workpiece import Bit, KeepOut, Slat
from service.orders.finishes import Finish
from service.orders.units import Units
from service.orders.workshop import Settings, ShopBit, ShopModel, Workshop
from service.rest.responses.base import shown, shows
from service.usecases.estimating import Estimate

Point = Annotated[tuple[float, ...], Field(min_length=2, max_length=2)]  # as plain a schema as there is
Rings = tuple[tuple[Point, ...], ...]


@dataclass(frozen=True)
class WorkshopBody:
    """A workshop as anyone sees it: `place`, `phone` and `email` are how it is reached, empty where it says nothing.

    `finishes` are offered besides bare wood; `units` are those that it measures in.
    """

    key: str
    name: str
    place: str
    phone: str
    email: str
    finishes: tuple[Finish, ...]
    units: Units


@dataclass(frozen=True)
class WorkshopsBody:
    """The workshops that take orders here."""

    items: tuple[WorkshopBody, ...]


@shows(Workshop, without=("id",))
class WorkshopSettingsBody:
    """A workshop's own settings."""


@shows(KeepOut, without=("shape",))
class KeepOutBody:
    """A place on the face where nothing may be carved."""

    shape: Rings


@shows(Slat, without=("outline", "keep_outs", "finish"))
class SlatBody:
    """One slat in its own frame and where it sits in the piece; lengths in mm."""

    outline: Rings
    keep_outs: tuple[KeepOutBody, ...]
    x: float
    y: float
    turn_deg: float
    carries_art: bool
    art_y: float | None
    art_high: float | None
    carries_mark: bool
    face: Face


@shows(Surround, without=("outline",))
class SurroundBody:
    """A part that is seen but never carved."""

    outline: Rings


@shows(ModelLayout, without=("slats", "surrounds"))
class ModelBody:
    """A furniture model; `allowances` holds what some slats have over the workshop's."""

    slats: tuple[SlatBody, ...]
    surrounds: tuple[SurroundBody, ...]
    allowances: Mapping[str, Mapping[str, float | bool]]
    revision: int
    retired: bool


@shows(Bit)
class BitBody:
    """A bit the workshop owns."""

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


@shows(Estimate)
class EstimateBody:
    """The least that pieces cost, in words, and the earliest day they could be ready; no words without prices."""


def workshop_body(workshop: Workshop) -> WorkshopBody:
    """What anyone may know."""
    return shown(WorkshopBody, workshop, finishes=tuple(terms.finish for terms in workshop.finishes))


def workshop_settings_body(workshop: Workshop) -> WorkshopSettingsBody:
    """The workshop's own settings."""
    return shown(WorkshopSettingsBody, workshop)


def rings(shape: Polygon) -> Rings:
    """The rings of a polygon, closed, the outer one first."""
    return tuple(
        tuple(map(tuple, get_coordinates(ring).tolist())) for ring in (shape.exterior, *shape.interiors)
    )


def model_body(model: ShopModel) -> ModelBody:
    """From a model."""
    layout = model.layout
    return shown(
        ModelBody,
        layout,
        slats=tuple(slat_body(placed) for placed in layout.slats),
        surrounds=tuple(map(surround_body, layout.surrounds)),
        allowances=model.allowances,
        revision=model.revision,
        retired=model.retired,
    )


def slat_body(placed: PlacedSlat) -> SlatBody:
    """From a slat where it sits."""
    where = {name: held for name, held in vars(placed).items() if name != "slat"}
    keep_outs = tuple(shown(KeepOutBody, each, shape=rings(each.shape)) for each in placed.slat.keep_outs)
    return shown(SlatBody, placed.slat, outline=rings(placed.slat.outline), keep_outs=keep_outs, **where)


def surround_body(part: Surround) -> SurroundBody:
    """From a part that is never carved."""
    return shown(SurroundBody, part, outline=rings(part.outline))


def bit_body(owned: ShopBit) -> BitBody:
    """From a bit."""
    return shown(BitBody, owned.bit, revision=owned.revision, retired=owned.retired)


def settings_body(settings: Settings) -> SettingsBody:
    """From all settings."""
    return SettingsBody(
        workshop_settings_body(settings.workshop),
        tuple(model_body(model) for model in settings.models),
        tuple(bit_body(bit) for bit in settings.bits),
    )
