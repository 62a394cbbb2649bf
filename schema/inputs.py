"""What mutations take. The values are checked by the same models as at the REST door."""

from __future__ import annotations

from dataclasses import fields, is_dataclass
from datetime import date
from enum import Enum
from typing import Any, TypeVar

import strawberry
from pydantic import ValidationError
from strawberry.scalars import JSON

from schema.types.enums import CarvingState, OrderState
from service.rest.asks.base import Ask
from service.rest.wrongs import invalid

A = TypeVar("A", bound=Ask)
UNSET: Any = strawberry.UNSET


def checked(model: type[A], given: object) -> A:
    """The input as its REST model. Raises Invalid with every problem."""
    try:
        return model.model_validate(plain(given))
    except ValidationError as error:
        raise invalid(error) from None


def plain(value: object) -> Any:
    """An input as plain values; what was not given is left out."""
    if is_dataclass(value) and not isinstance(value, type):
        given = {f.name: getattr(value, f.name) for f in fields(value)}
        return {name: plain(item) for name, item in given.items() if item is not strawberry.UNSET}
    if isinstance(value, Enum):
        return value.value
    return [plain(item) for item in value] if isinstance(value, list) else value


@strawberry.input
class ContactInput:
    """Whom to reach about an order."""

    name: str = ""
    email: str = ""
    phone: str = ""
    organisation: str = ""


@strawberry.input
class LineInput:
    """So many pieces of one model, with art on some of its slats; `id` keeps a line when amending."""

    model_key: str
    quantity: int
    slats: list[str] = strawberry.field(default_factory=list)
    note: str = ""
    id: strawberry.ID | None = None


@strawberry.input
class OrderInput:
    """An order as asked for; amending replaces all of it."""

    contact: ContactInput = strawberry.field(default_factory=ContactInput)
    lines: list[LineInput] = strawberry.field(default_factory=list)
    needed_by: date | None = None
    rights_granted: bool = False
    note: str = ""


@strawberry.input
class OrderFilterInput:
    """Which orders; everything given must hold."""

    state: list[OrderState] = strawberry.field(default_factory=list)
    carving_state: list[CarvingState] = strawberry.field(default_factory=list)
    verdict: list[str] = strawberry.field(default_factory=list)
    needed_from: date | None = None
    needed_until: date | None = None
    words: str = ""
    order_by: str = strawberry.field(default="newest", description="`newest` or `needed-by`.")


@strawberry.input
class PlacementInput:
    """Where art lies on a slat: its centre in slat mm, mm per outline unit, degrees counter-clockwise."""

    x: float
    y: float
    scale: float
    rotation_deg: float = 0.0
    mirrored: bool = False


@strawberry.input
class CutInput:
    """What to change of a cut; what is left out stays. Anything but `slatKey` is the maker's to change."""

    slat_key: str | None = UNSET
    bit_key: str | None = UNSET
    thickness: float | None = UNSET
    allowances: JSON | None = UNSET


@strawberry.input
class WishesInput:
    """How a file should be read."""

    shade: int = 0
    invert: bool | None = None
    inks: list[int] | None = None
    page: int = 0
    straighten: bool = False


@strawberry.input
class SuiteShownInput:
    """The whole list or picture that the person had before their eyes, by its digest."""

    suite_id: strawberry.ID
    digest: str


@strawberry.input
class ShownInput:
    """What the person had before their eyes: refused unless it is the current proof."""

    carving_id: strawberry.ID
    digest: str
    picture: str


@strawberry.input
class AcceptedInput:
    """Remarks of one proof that are accepted with a signature, by name."""

    carving_id: strawberry.ID
    remarks: list[str]


@strawberry.input
class AcceptedKindsInput:
    """Kinds of remarks that are accepted with a signature, on whichever parts of the suite they are."""

    suite_id: strawberry.ID
    kinds: list[str]


@strawberry.input
class PointInput:
    """A place on a slat, mm."""

    x: float
    y: float


@strawberry.input
class AllowancesInput:
    """What a shop allows for; what is left out takes the usual value."""

    sanding: float | None = UNSET
    sanding_made_up: bool | None = UNSET
    unevenness: float | None = UNSET
    least_depth: float | None = UNSET
    land_along: float | None = UNSET
    land_across: float | None = UNSET
    depth_limit_share: float | None = UNSET
    least_wood: float | None = UNSET
    edge_margin: float | None = UNSET
    keep_out_margin: float | None = UNSET
    end_margin: float | None = UNSET
    feed: float | None = UNSET
    plunge: float | None = UNSET
    pass_depth: float | None = UNSET
    coarsest_pixel: float | None = UNSET


@strawberry.input
class WorkshopInput:
    """A workshop's own settings; saving replaces all of them."""

    name: str
    allowances: AllowancesInput
    usual_bit: str
    retention_days: int = 365


@strawberry.input
class BitInput:
    """A V-bit; what is left out takes the usual value."""

    angle_deg: float | None = UNSET
    tip_flat: float | None = UNSET
    diameter: float | None = UNSET
    height: float | None = UNSET
