"""Help with settings: what each allowance costs a line, and slat outlines from figures or from a drawing."""

from __future__ import annotations

from dataclasses import dataclass, replace

from shapely import Polygon

from artwork import tooling
from artwork.as_judged import as_read
from artwork.errors import EngineError
from artwork.furniture import ModelLayout, PlacedSlat
from artwork.slat_row import RowFigures, slat_row, slats_of_curves
from artwork.slat_shape import SlatFigures, slat_outline
from artwork.workpiece import Allowances, Bit
from service.orders.actors import Actor, Role
from service.orders.errors import FieldError, InvalidError
from service.usecases import computing_views
from service.usecases.context import Context
from service.usecases.guard import need_role
from service.usecases.shop import get_settings

_WAIT = 10.0


@dataclass(frozen=True)
class Cost:
    """What one bit asks of a line on the flat, and how much of that each allowance makes. mm.

    Attributes:
        least_line: width a line needs; the sum of the parts.
        tip_flat, least_depth, sanding, unevenness: those parts; what width and finish ask for besides is in that
            of the least depth.
        least_land_along, least_land_across: width the wood between two lines needs.
        land_unevenness: how much of that the unevenness makes.
    """

    bit_key: str
    least_line: float
    tip_flat: float
    least_depth: float
    sanding: float
    unevenness: float
    least_land_along: float
    least_land_across: float
    land_unevenness: float


def allowance_costs(ctx: Context, actor: Actor) -> tuple[Cost, ...]:
    """What the workshop's allowances cost with each of its bits. NotAllowedError."""
    settings = get_settings(ctx, actor)
    allowances = settings.workshop.allowances
    return tuple(_cost(owned.bit, allowances) for owned in settings.bits if not owned.retired)


def _cost(bit: Bit, allowances: Allowances) -> Cost:
    """Each part is how much narrower a line could be without that allowance: they add up, as widths are
    linear.
    """

    def line(**without: float) -> float:
        changed = replace(allowances, **without)  # type: ignore[arg-type]
        return float(tooling.least_line(bit, as_read(bit, changed), 0.0))

    whole = line()
    loss = tooling.land_loss(bit, allowances)
    return Cost(
        bit_key=bit.key,
        least_line=whole,
        tip_flat=bit.tip_flat,
        least_depth=whole - line(least_depth=0.0, least_width=0.0, finish_film=0.0),
        sanding=whole - line(sanding=0.0),
        unevenness=whole - line(unevenness=0.0),
        least_land_along=float(tooling.least_land(allowances, 0.0)) + loss,
        least_land_across=float(tooling.least_land(allowances, 1.0)) + loss,
        land_unevenness=loss,
    )


def outline_of_figures(actor: Actor, figures: SlatFigures) -> Polygon:
    """A slat's outline, x = 0 on its centre line, y = 0 at its foot. NotAllowedError, InvalidError."""
    need_role(actor, "draw slats", Role.MAKER, Role.HELPER)
    try:
        return slat_outline(figures)
    except EngineError as refusal:
        raise InvalidError(FieldError("", refusal.code, str(refusal))) from None


def outline_of_drawing(ctx: Context, actor: Actor, data: bytes, name: str) -> Polygon:
    """A slat's outline out of an SVG, DXF or PDF that states its size. NotAllowedError, InvalidError, TooManyError."""
    need_role(actor, "draw slats", Role.MAKER, Role.HELPER)
    try:
        ring = ctx.compute.run(
            computing_views.slat_of_drawing, data, name, ctx.art_limits, wait=_WAIT, stranger=True
        )
    except EngineError as refusal:
        raise InvalidError(FieldError("file", refusal.code, str(refusal))) from None
    return Polygon(ring)


def row_of_figures(actor: Actor, figures: RowFigures) -> tuple[PlacedSlat, ...]:
    """Slats alike, side by side or one above the other. NotAllowedError, InvalidError."""
    need_role(actor, "draw slats", Role.MAKER, Role.HELPER)
    try:
        return slat_row(figures)
    except EngineError as refusal:
        raise InvalidError(FieldError("", refusal.code, str(refusal))) from None


def slats_of_drawing(ctx: Context, actor: Actor, data: bytes, name: str) -> tuple[PlacedSlat, ...]:
    """Every slat of a front view: SVG, DXF or PDF that states its size. NotAllowedError, InvalidError, TooManyError."""
    need_role(actor, "draw slats", Role.MAKER, Role.HELPER)
    try:
        curves = ctx.compute.run(
            computing_views.curves_of_drawing, data, name, ctx.art_limits, wait=_WAIT, stranger=True
        )
        return slats_of_curves([Polygon(curve) for curve in curves])
    except EngineError as refusal:
        raise InvalidError(FieldError("file", refusal.code, str(refusal))) from None


def starters(actor: Actor) -> tuple[ModelLayout, ...]:
    """Ready-made models to begin with: a workshop saves one as its own and changes it. NotAllowedError."""
    from seeds.shop import load

    need_role(actor, "see ready-made models", Role.MAKER, Role.HELPER)
    return load().models
