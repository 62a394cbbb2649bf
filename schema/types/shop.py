"""What a workshop offers and sets."""

from __future__ import annotations

from typing import Any, cast

import strawberry

from artwork import furniture, workpiece
from artwork.furniture import PlacedSlat
from schema.types.judged import AllowanceOverrides
from schema.types.made import graph_type, shows
from service.orders import finishes
from service.orders import workshop as shop
from service.orders.definition import defined
from service.orders.units import Units


@shows(workpiece.Slat, without=("finish",))
class Slat:
    """One slat in its own frame and where it sits in the piece; lengths in mm, y up."""

    x: float = strawberry.field(description="Where the slat's own origin lies in the piece, mm.")
    y: float = strawberry.field(description="Where the slat's own origin lies in the piece, mm.")
    turn_deg: float = strawberry.field(description="How it is turned in the piece, counter-clockwise.")
    carries_art: bool = strawberry.field(description="Whether a client may put art on it.")
    art_y: float | None = strawberry.field(
        description="Where the middle of art is laid at first, mm up; null: where it becomes largest."
    )
    carries_mark: bool = strawberry.field(
        description="Whether the workshop's own mark may be on it though no client's art is."
    )
    face: graph_type("face", furniture.Face) = strawberry.field(  # type: ignore[valid-type]
        description="Which face is carved; a rear one is drawn as seen from behind."
    )
    art_high: float | None = strawberry.field(
        description="How high art is laid at most at first, mm; null for as high as fits."
    )


@shows(furniture.DrilledHole)
class DrilledHole:
    """A hole of a part that is drilled anyway, for a screw or a bolt."""


@shows(furniture.Part)
class Part:
    """One line of a model's part list, as sawn from boards."""


@shows(furniture.Surround)
class Surround:
    """A part that is seen but never carved."""


@strawberry.type
class SlatAllowances:
    """What one slat of a model has over the workshop's allowances."""

    slat_key: str = strawberry.field(description="Which slat.")
    allowances: AllowanceOverrides = strawberry.field(  # type: ignore[valid-type]
        description="Those that it has; null: the workshop's holds."
    )


@shows(furniture.ModelLayout, without=("slats",))
class Model:
    """A furniture model."""

    slats: list[Slat] = strawberry.field(description="Every slat, the ones lowest in the stack first.")
    allowances: list[SlatAllowances] = strawberry.field(
        description="What some slats have over the workshop's allowances."
    )
    revision: int = strawberry.field(description="Raised by every change.")
    retired: bool = strawberry.field(description="Kept for old orders, not offered any more.")


@shows(workpiece.Bit)
class Bit:
    """A V-bit of the workshop; lengths in mm."""

    revision: int = strawberry.field(description="Raised by every change.")
    retired: bool = strawberry.field(description="Kept for old orders, not used any more.")


@strawberry.type
class Workshop:
    """A workshop as anyone sees it."""

    key: str
    name: str
    place: str
    phone: str
    email: str
    finishes: list[graph_type("finish", finishes.Finish)]  # type: ignore[valid-type]
    units: graph_type("units", Units)  # type: ignore[valid-type]
    models: list[Model]


@shows(finishes.FinishTerms)
class OfferedFinish:
    """A finish that a workshop offers, and what it asks of the carving."""


@shows(shop.Workshop, without=("id",))
class WorkshopSettings:
    """A workshop's own settings."""


@strawberry.type
class Settings:
    """Everything a workshop sets."""

    workshop: WorkshopSettings
    models: list[Model]
    bits: list[Bit]


def model_of(model: shop.ShopModel) -> Model:
    """From a model of the rules."""
    shown = {name: getattr(model.layout, name) for name in defined(furniture.ModelLayout)}
    shown |= {
        "slats": [_slat_of(placed) for placed in model.layout.slats],
        "allowances": [
            SlatAllowances(slat_key=key, allowances=dict(values)) for key, values in model.allowances.items()
        ],
    }
    made: Any = Model
    found: Model = made(**shown, revision=model.revision, retired=model.retired)
    return found


def _slat_of(placed: PlacedSlat) -> Any:
    made: Any = Slat
    where = {name: held for name, held in vars(placed).items() if name != "slat"}
    known = {name: getattr(placed.slat, name) for name in defined(workpiece.Slat) if name != "finish"}
    return made(**known, **where)


def bit_of(owned: shop.ShopBit) -> Bit:
    """From a bit of the rules."""
    made: Any = Bit
    found: Bit = made(**vars(owned.bit), revision=owned.revision, retired=owned.retired)
    return found


def workshop_settings_of(workshop: shop.Workshop) -> WorkshopSettings:
    """A workshop of the rules is shown as it is."""
    return cast("WorkshopSettings", workshop)
