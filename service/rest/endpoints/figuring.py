"""Help with settings: costs of allowances, slat outlines from figures or drawings."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from pydantic import Field
from shapely import Polygon

from service.rest.operation import Answer, Call, Operation
from service.rest.requests.base import Ask
from service.rest.responses.shop import Rings
from service.usecases import figuring
from service.usecases.figuring import Cost, SlatFigures

TAG = "Settings"
Length = Annotated[float, Field(gt=0, lt=10_000, allow_inf_nan=False, description="mm")]


class SlatFiguresAsk(Ask):
    """A slat as a maker measures it, mm."""

    width: Length
    length: Length
    foot_width: Length | None = None
    top_rise: Annotated[float, Field(ge=0, lt=10_000, allow_inf_nan=False)] = 0.0
    top_slope: Annotated[float, Field(gt=-10_000, lt=10_000, allow_inf_nan=False)] = 0.0


@dataclass(frozen=True)
class CostsBody:
    """What the workshop's allowances cost with each of its bits, mm."""

    items: tuple[Cost, ...]


@dataclass(frozen=True)
class OutlineBody:
    """A slat's outline as one ring of points, mm: x = 0 on the centre line, y = 0 at the foot."""

    outline: Rings


def _outline(polygon: Polygon) -> Answer:
    points = tuple((float(x), float(y)) for x, y in polygon.exterior.coords[:-1])
    return Answer(OutlineBody((points,)))


def _costs(call: Call) -> Answer:
    return Answer(CostsBody(figuring.allowance_costs(call.ctx, call.actor)))


def _from_figures(call: Call) -> Answer:
    return _outline(figuring.outline_of_figures(call.actor, SlatFigures(**call.ask.model_dump())))


def _from_drawing(call: Call) -> Answer:
    sent = call.upload
    assert sent is not None  # noqa: S101 - the operation takes a file
    return _outline(figuring.outline_of_drawing(call.ctx, call.actor, sent.data, sent.name))


OPERATIONS = (
    Operation(
        "GET",
        "/settings/costs",
        "getAllowanceCosts",
        "Say which allowance costs a line how much width, with each bit.",
        TAG,
        _costs,
        gives=CostsBody,
    ),
    Operation(
        "POST",
        "/settings/slat-outlines",
        "drawSlat",
        "Draw a slat's outline from the figures a maker measures.",
        TAG,
        _from_figures,
        ask=SlatFiguresAsk,
        gives=OutlineBody,
    ),
    Operation(
        "POST",
        "/settings/slat-drawings",
        "readSlatDrawing",
        "Take a slat's outline from an SVG, DXF or PDF drawing that states its size.",
        TAG,
        _from_drawing,
        takes_file=True,
        gives=OutlineBody,
        problems=("too-large", "unsupported-type", "too-many"),
        more="The largest closed curve of the drawing is taken.",
    ),
)
