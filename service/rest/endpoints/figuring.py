"""Help with settings: costs of allowances, slat outlines from figures or drawings."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from pydantic import Field
from shapely import Polygon

from artwork.furniture import ModelLayout, PlacedSlat
from artwork.slat_row import RowFigures
from artwork.slat_shape import SlatFigures
from service.rest.operation import Answer, Call, Operation, tagged
from service.rest.requests.base import asked
from service.rest.responses.base import shown, shows
from service.rest.responses.shop import Rings, SlatBody, SurroundBody, slat_body, surround_body
from service.rest.use import Does, one
from service.usecases import figuring
from service.usecases.figuring import Cost

TAG = "Settings"
Length = Annotated[float, Field(gt=0, lt=10_000, allow_inf_nan=False, description="mm")]


SlatFiguresAsk = asked(SlatFigures, "SlatFiguresAsk", "A slat as a maker measures it, mm.")


RowAsk = asked(RowFigures, "RowAsk", "A row of slats alike as a maker measures it, mm.")


@dataclass(frozen=True)
class CostsBody:
    """What the workshop's allowances cost with each of its bits, mm."""

    items: tuple[Cost, ...]


@dataclass(frozen=True)
class OutlineBody:
    """A slat's outline as one ring of points, mm: x = 0 on the centre line, y = 0 at the foot."""

    outline: Rings


@dataclass(frozen=True)
class SlatsBody:
    """Slats where they sit in a piece, stored nowhere yet."""

    slats: tuple[SlatBody, ...]


@shows(ModelLayout, without=("slats", "surrounds"))
class StarterBody:
    """A ready-made model."""

    slats: tuple[SlatBody, ...]
    surrounds: tuple[SurroundBody, ...]


@dataclass(frozen=True)
class StartersBody:
    """Ready-made models."""

    items: tuple[StarterBody, ...]


def _slats(placed: tuple[PlacedSlat, ...]) -> Answer[SlatsBody]:
    return Answer(SlatsBody(tuple(map(slat_body, placed))))


def _starter(layout: ModelLayout) -> StarterBody:
    slats, surrounds = tuple(map(slat_body, layout.slats)), tuple(map(surround_body, layout.surrounds))
    return shown(StarterBody, layout, slats=slats, surrounds=surrounds)


def _starters(call: Call) -> Answer[StartersBody]:
    return Answer(StartersBody(tuple(map(_starter, figuring.starters(call.actor)))))


def _row(call: Call) -> Answer[SlatsBody]:
    return _slats(figuring.row_of_figures(call.actor, call.ask.value()))


def _slats_from_drawing(call: Call) -> Answer[SlatsBody]:
    sent = call.upload
    assert sent is not None  # noqa: S101 - the operation takes a file
    return _slats(figuring.slats_of_drawing(call.ctx, call.actor, sent.data, sent.name))


def _outline(polygon: Polygon) -> Answer[OutlineBody]:
    points = tuple((float(x), float(y)) for x, y in polygon.exterior.coords[:-1])
    return Answer(OutlineBody((points,)))


def _from_figures(call: Call) -> Answer[OutlineBody]:
    return _outline(figuring.outline_of_figures(call.actor, call.ask.value()))


def _from_drawing(call: Call) -> Answer[OutlineBody]:
    sent = call.upload
    assert sent is not None  # noqa: S101 - the operation takes a file
    return _outline(figuring.outline_of_drawing(call.ctx, call.actor, sent.data, sent.name))


OPERATIONS = tagged(
    TAG,
    Operation(
        "GET /settings/costs",
        "getAllowanceCosts",
        "Say which allowance costs a line how much width, with each bit.",
        Does(figuring.allowance_costs, one(CostsBody)),
    ),
    Operation(
        "POST /settings/slat-outlines",
        "drawSlat",
        "Draw a slat's outline from the figures a maker measures.",
        _from_figures,
        ask=SlatFiguresAsk,
    ),
    Operation(
        "POST /settings/slat-drawings",
        "readSlatDrawing",
        "Take a slat's outline from an SVG, DXF or PDF drawing that states its size.",
        _from_drawing,
        takes_file=True,
        more="The largest closed curve of the drawing is taken.",
    ),
    Operation(
        "POST /settings/slat-rows",
        "drawRow",
        "Lay out a row of slats alike from the figures a maker measures.",
        _row,
        ask=RowAsk,
    ),
    Operation(
        "POST /settings/piece-drawings",
        "readPieceDrawing",
        "Take every slat of a piece from an SVG, DXF or PDF of its front that states its size.",
        _slats_from_drawing,
        takes_file=True,
        more="Each closed curve is a slat; smaller ones within it are its screw holes.",
    ),
    Operation(
        "GET /settings/starters",
        "listStarters",
        "List ready-made models to begin with.",
        _starters,
        more="Save one by `saveModel` under a key of your own, then change it.",
    ),
)
