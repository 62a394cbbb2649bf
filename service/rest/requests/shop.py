"""What a workshop sets, as it is asked for."""

from __future__ import annotations

from dataclasses import fields
from typing import Annotated, Any, get_type_hints

from pydantic import Field, create_model
from shapely import Polygon

from artwork.furniture import DrilledHole, Face, ModelLayout, Part, PlacedSlat, Surround
from artwork.workpiece import Allowances, Bit, KeepOut, Slat
from service.orders.errors import FieldError, InvalidError
from service.orders.finishes import FinishTerms
from service.orders.limits import (
    FREE_DEPTH,
    LONGEST_WORDS,
    MINUTES,
    MOST_SLATS,
    PLACE,
    ROUND_OVER,
    THICKNESS,
)
from service.rest.requests.base import Ask, Key, Millimetres, Name, ShortText, asked
from service.usecases.commands import WorkshopContent

PLACED = tuple(name for name in (field.name for field in fields(PlacedSlat)) if name != "slat")
"""What is said of a slat besides itself."""
Point = tuple[Millimetres, Millimetres]
Ring = Annotated[tuple[Point, ...], Field(min_length=3, max_length=2000)]
RingsAsk = Annotated[tuple[Ring, ...], Field(min_length=1, max_length=50, description="outer ring first, mm")]
Length = Annotated[float, Field(ge=0, lt=100_000, allow_inf_nan=False, description="mm")]
Degrees = Annotated[float, Field(ge=-360, le=360, allow_inf_nan=False)]


def _within(span: tuple[float, float], words: str = "mm") -> Any:
    """A finite figure between the limits that the rules have."""
    least, most = span
    return Field(ge=least, le=most, allow_inf_nan=False, description=words or None)


def _like(kind: type[Any], name: str, words: str) -> type[Ask]:
    """A model with the fields of a value type of the engine, all optional, numbers finite."""
    hints = get_type_hints(kind)
    given: dict[str, Any] = {
        f.name: (bool if hints[f.name] is bool else Annotated[float, Field(allow_inf_nan=False)], f.default)
        for f in fields(kind)
        if f.name != "key"
    }
    made: type[Ask] = create_model(name, __base__=Ask, __doc__=words, **given)
    made.makes = None if "key" in hints else kind  # a key comes with the address
    return made


AllowancesAsk = _like(
    Allowances,
    "AllowancesAsk",
    "What a shop allows for, all mm unless the name says otherwise; what is left out takes the usual value.",
)
BitAsk = _like(
    Bit,
    "BitAsk",
    "A V-bit: its included angle in degrees, lengths in mm; what is left out takes the usual value.",
)


class KeepOutAsk(Ask):
    """A place on the face where nothing may be carved."""

    shape: RingsAsk
    reason: Name
    free_depth: Annotated[float, _within(FREE_DEPTH, "may be carved this deep all the same, mm")] = 0.0


class SlatAsk(Ask):
    """One slat in its own frame and where it sits in the piece; lengths in mm."""

    key: Key
    name: Name
    outline: RingsAsk
    thickness: Annotated[float, _within(THICKNESS)]
    grain_deg: Degrees = 90.0
    round_over: Annotated[float, _within(ROUND_OVER)] = 9.525
    mill_radius: Annotated[float, _within(ROUND_OVER)] = 0.0
    species: Key = "western-redcedar"
    keep_outs: Annotated[tuple[KeepOutAsk, ...], Field(max_length=200)] = ()
    x: Annotated[float, _within(PLACE)] = 0.0
    y: Annotated[float, _within(PLACE)] = 0.0
    turn_deg: Degrees = 0.0
    carries_art: bool = True
    art_y: Annotated[float, _within(PLACE)] | None = None
    carries_mark: Annotated[
        bool, Field(description="the workshop's own mark may be on it though no client's art is")
    ] = False
    face: Annotated[
        Face, Field(description="which face is carved; a rear one is drawn as seen from behind")
    ] = "front"
    art_high: Annotated[float, Field(gt=0, lt=100_000, allow_inf_nan=False, description="mm")] | None = None


class SurroundAsk(Ask):
    """A part that is seen but never carved."""

    name: ShortText
    outline: RingsAsk
    grain_deg: Degrees = 0.0
    behind: bool = True


class HoleAsk(Ask):
    """A hole of a part that is drilled anyway."""

    along: Length
    across: Length
    diameter: Annotated[float, Field(gt=0, le=100, allow_inf_nan=False, description="mm")]


class PartAsk(Ask):
    """One line of the part list."""

    key: Key
    name: ShortText
    count: Annotated[int, Field(ge=1, le=1000)]
    length: Length
    width: Length
    thickness: Length
    wood: Annotated[
        str, Field(max_length=64, description="key of its wood; left out: that of the model's slats")
    ] = ""
    holes: Annotated[
        tuple[HoleAsk, ...],
        Field(max_length=50, description="drilled anyway: the board may be screwed down there"),
    ] = ()


class ModelAsk(Ask):
    """A furniture model."""

    name: Name
    words: Annotated[str, Field(max_length=LONGEST_WORDS)] = ""
    slats: Annotated[tuple[SlatAsk, ...], Field(min_length=1, max_length=MOST_SLATS)]
    surrounds: Annotated[tuple[SurroundAsk, ...], Field(max_length=64)] = ()
    parts: Annotated[tuple[PartAsk, ...], Field(max_length=200)] = ()
    shop_minutes: Annotated[float, _within(MINUTES, "")] = 0.0
    assembly_minutes: Annotated[float, _within(MINUTES, "")] = 0.0
    allowances: Annotated[
        dict[Key, dict[Key | str, bool | float]],
        Field(max_length=64, description="slat key → over the workshop's"),
    ] = Field(default_factory=dict)

    def layout(self, key: str) -> ModelLayout:
        """As the engine takes it. Raises Invalid for an outline that crosses itself."""
        return ModelLayout(
            key=key,
            name=self.name,
            words=self.words,
            slats=tuple(_placed(slat, f"slats.{i}") for i, slat in enumerate(self.slats)),
            surrounds=tuple(
                Surround(s.name, _polygon(s.outline, f"surrounds.{i}.outline"), s.grain_deg, s.behind)
                for i, s in enumerate(self.surrounds)
            ),
            parts=tuple(_part(part) for part in self.parts),
            shop_minutes=self.shop_minutes,
            assembly_minutes=self.assembly_minutes,
        )


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


def _part(ask: PartAsk) -> Part:
    said = ask.model_dump(exclude={"holes"})
    return Part(**said, holes=tuple(DrilledHole(**hole.model_dump()) for hole in ask.holes))


def _placed(ask: SlatAsk, field: str) -> PlacedSlat:
    slat = Slat(
        key=ask.key,
        name=ask.name,
        outline=_polygon(ask.outline, f"{field}.outline"),
        thickness=ask.thickness,
        grain_deg=ask.grain_deg,
        round_over=ask.round_over,
        mill_radius=ask.mill_radius,
        species=ask.species,
        keep_outs=tuple(
            KeepOut(_polygon(k.shape, f"{field}.keep_outs.{i}.shape"), k.reason, k.free_depth)
            for i, k in enumerate(ask.keep_outs)
        ),
    )
    where = {name: getattr(ask, name) for name in PLACED}
    return PlacedSlat(slat, **where)


def _polygon(rings: tuple[tuple[tuple[float, float], ...], ...], field: str) -> Polygon:
    polygon = Polygon(rings[0], rings[1:])
    if not polygon.is_valid or polygon.area <= 0:
        message = "This outline crosses itself or has no area. Draw it as one closed curve."
        raise InvalidError(FieldError(field, "bad-outline", message))
    return polygon
