"""What a workshop sets, as it is asked for."""

from __future__ import annotations

from dataclasses import fields
from typing import Annotated, Any, ClassVar

from pydantic import Field
from shapely import Polygon

from artwork.furniture import DrilledHole, ModelLayout, Part, Place, PlacedSlat, Surround
from artwork.workpiece import Allowances, Bit, KeepOut, Slat
from service.orders.finishes import FinishTerms
from service.orders.limits import LONGEST_WORDS, MOST_SLATS
from service.rest.requests.base import Ask, Key, Millimetres, Name, ShortText, asked, asks
from service.usecases.commands import WorkshopContent

Point = tuple[Millimetres, Millimetres]
Ring = Annotated[tuple[Point, ...], Field(min_length=3, max_length=2000)]
RingsAsk = Annotated[tuple[Ring, ...], Field(min_length=1, max_length=50, description="outer ring first, mm")]

AllowancesAsk = asked(
    Allowances,
    "AllowancesAsk",
    "What a shop allows for, all mm unless the name says otherwise; what is left out takes the usual value.",
)
HoleAsk = asked(DrilledHole, "HoleAsk", "A hole of a part that is drilled anyway.")


@asks(Bit, without=("key",))  # that comes with the address
class BitAsk(Ask):
    """A V-bit: its included angle in degrees, lengths in mm; what is left out takes the usual value."""


class ShapeAsk(Ask):
    """A value with a shape, which is sent as rings."""

    shape_field: ClassVar[str] = "outline"

    def values(self) -> dict[str, Any]:
        """Field → value; the rings as a polygon, which the use case looks at."""
        given = super().values()
        outer, *inner = given[self.shape_field]
        return given | {self.shape_field: Polygon(outer, inner)}


@asks(KeepOut)
class KeepOutAsk(ShapeAsk):
    """A place on the face where nothing may be carved."""

    makes = KeepOut
    shape_field = "shape"

    shape: RingsAsk
    reason: Name


@asks(Slat, PlacedSlat, without=("slat", "finish"))
class SlatAsk(ShapeAsk):
    """One slat in its own frame and where it sits in the piece; lengths in mm."""

    key: Key
    name: Name
    outline: RingsAsk
    species: Key = "western-redcedar"
    keep_outs: Annotated[tuple[KeepOutAsk, ...], Field(max_length=200)] = ()
    x: Place = 0.0
    y: Place = 0.0

    def value(self) -> PlacedSlat:
        """As the engine takes it."""
        given = self.values()
        where = {field.name: given.pop(field.name) for field in fields(PlacedSlat) if field.name != "slat"}
        return PlacedSlat(Slat(**given), **where)


@asks(Surround)
class SurroundAsk(ShapeAsk):
    """A part that is seen but never carved."""

    makes = Surround

    name: ShortText
    outline: RingsAsk


@asks(Part)
class PartAsk(Ask):
    """One line of the part list."""

    makes = Part

    key: Key
    name: ShortText
    wood: Annotated[
        str, Field(max_length=64, description="key of its wood; left out: that of the model's slats")
    ] = ""
    holes: Annotated[
        tuple[HoleAsk, ...],  # type: ignore[valid-type]
        Field(max_length=50, description="drilled anyway: the board may be screwed down there"),
    ] = ()


@asks(ModelLayout, without=("key",))  # that comes with the address
class ModelAsk(Ask):
    """A furniture model."""

    name: Name
    words: Annotated[str, Field(max_length=LONGEST_WORDS)] = ""
    slats: Annotated[tuple[SlatAsk, ...], Field(min_length=1, max_length=MOST_SLATS)]
    surrounds: Annotated[tuple[SurroundAsk, ...], Field(max_length=64)] = ()
    parts: Annotated[tuple[PartAsk, ...], Field(max_length=200)] = ()
    allowances: Annotated[
        dict[Key, dict[Key | str, bool | float]],
        Field(max_length=64, description="slat key → over the workshop's"),
    ] = Field(default_factory=dict)

    def layout(self, key: str) -> ModelLayout:
        """As the engine takes it."""
        given = self.values()
        del given["allowances"]
        return ModelLayout(key, **given)


FinishAsk = asked(FinishTerms, "FinishAsk", "A finish that is offered, and what it asks of the carving.")


WorkshopAsk = asked(
    WorkshopContent,
    "WorkshopAsk",
    "A workshop's own settings; saving replaces all of them.",
    {Allowances: AllowancesAsk, FinishTerms: FinishAsk},
)


class RetirementAsk(Ask):
    """Whether it is kept for old orders only."""

    retired: bool
