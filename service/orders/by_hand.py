"""Changes of a drawing by hand: what is different from what was sent, what is at a place, what is to be done there."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Annotated

from pydantic import Field

from service.orders.versions import Area, ChangeKind


class HandChange(StrEnum):
    """What is done to one place by hand."""

    AS_DRAWN = "as-drawn"
    THICKEN = "thicken"
    OPEN = "open"
    FILL = "fill"
    LEAVE_OUT = "leave-out"
    STURDIER = "sturdier"


@dataclass(frozen=True)
class ByHand:
    """One change by hand.

    Attributes:
        by: ``None`` for as wide as the check needs it.
    """

    kind: HandChange
    x: float
    y: float
    by: float | None = None


@dataclass(frozen=True)
class ChangedPlace:
    """One place at which the drawing differs from what was sent; it can be put back by itself."""

    number: Annotated[int, Field(description="from 1, the largest place first")]
    kind: ChangeKind
    amount: Annotated[
        float, Field(description="how far an edge went at most, mm; of what is gone its longer side")
    ]
    area: Annotated[Area, Field(description="all of it")]
    x: Annotated[float, Field(description="a point of it, slat mm")]
    y: Annotated[float, Field(description="a point of it, slat mm")]


@dataclass(frozen=True)
class WidthHere:
    """A stroke or a gap, from junction to junction."""

    width: Annotated[float, Field(description="at its narrowest, mm")]
    needed: Annotated[float, Field(description="what it needs there, mm")]
    x: Annotated[float, Field(description="on its middle line, slat mm")]
    y: Annotated[float, Field(description="on its middle line, slat mm")]


@dataclass(frozen=True)
class WholeHere:
    """What would be filled or left out as a whole."""

    kind: ChangeKind
    area: Annotated[Area, Field(description="all of it")]


@dataclass(frozen=True)
class PlaceHere:
    """What is at a place, and can be changed there; null where there is no such thing near it."""

    x: float
    y: float
    stroke: Annotated[WidthHere | None, Field(description="the carved line nearest to it")]
    gap: Annotated[WidthHere | None, Field(description="the wood between grooves nearest to it")]
    fill: Annotated[WholeHere | None, Field(description="the gap or island that would be carved as well")]
    leave_out: Annotated[WholeHere | None, Field(description="the part or stroke that would stay plain wood")]
    changed: Annotated[int | None, Field(description="number of the changed place that it is in")]


@dataclass(frozen=True)
class DrawingChanges:
    """What is different from what was sent, place by place, and what is at one of them."""

    carving_id: str
    places: Annotated[tuple[ChangedPlace, ...], Field(description="the largest first")]
    here: Annotated[PlaceHere | None, Field(description="where `x` and `y` asked for a place")]
    box: Annotated[Area, Field(description="what the picture shows")]
    width: Annotated[int, Field(description="of the picture, pixels")]
    height: Annotated[int, Field(description="of the picture, pixels")]
