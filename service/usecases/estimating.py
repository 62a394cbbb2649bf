"""What pieces would cost and when they could be ready, before there is an order."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from service.boards.order_work import area_of
from service.boards.schedule import Pace, PieceWork, piece_work, schedule
from service.boards.shop import pace_of
from service.orders.actors import Actor
from service.orders.errors import FieldError, InvalidError
from service.orders.limits import MOST_PIECES
from service.orders.machine import Machine
from service.orders.price_list import PriceList, amount_text
from service.orders.quote import CarvedSlat, QuotedLine, quote
from service.orders.quoting import wood_of
from service.orders.workshop import ShopModel
from service.store import machines, prices
from service.store.shop import settings_stamp
from service.usecases.context import Context
from service.usecases.shop import get_model

_USED = 0.85
"""Part of the boards that plans use, while there is none (measured on the demo's chairs)."""


@dataclass(frozen=True)
class Estimate:
    """The least that pieces cost, and the earliest day they could be ready.

    Attributes:
        price_words: of everything but the machine's time, which depends on the art; empty where there is no price.
        each_words: the same of one piece, with what is asked once an order.
        ready_on: begun today with nothing else to do; carving time, which the art decides, is not in it.
    """

    price_words: str
    each_words: str
    ready_on: date


def estimate(ctx: Context, actor: Actor, key: str, quantity: int, slats: tuple[str, ...]) -> Estimate:
    """Of so many pieces of a model with art on some slats; anybody may ask. NotFoundError, InvalidError."""
    model = get_model(ctx, actor, key)
    if not 1 <= quantity <= MOST_PIECES:
        raise InvalidError(FieldError("quantity", "out-of-range", f"Ask for 1 to {MOST_PIECES} pieces."))
    known = {placed.slat.key for placed in model.layout.slats if placed.carries_art}
    chosen = [slat for slat in dict.fromkeys(slats) if slat in known]
    today = ctx.clock.now().date()
    with ctx.store.reading() as connection:
        asked = (
            actor.workshop_id,
            settings_stamp(connection, actor.workshop_id),
            key,
            quantity,
            tuple(chosen),
        )
        version = prices.current_version(connection, actor.workshop_id)
        machine, revision = machines.read_machine(connection, actor.workshop_id)
        of_what = ("estimate", *asked, version, revision, today)
        kept: Estimate | None = ctx.kept.get(of_what)
        if kept is None:
            listed = prices.current_prices(connection, actor.workshop_id)
            kept = _estimate(model, quantity, chosen, Given(listed, machine, today))
            ctx.kept.put(of_what, kept)
    return kept


@dataclass(frozen=True)
class Given:
    """What an estimate rests on besides the model.

    Attributes:
        listed: the prices; ``None`` where there are none.
    """

    listed: PriceList | None
    machine: Machine
    today: date


def _estimate(model: ShopModel, quantity: int, chosen: Sequence[str], given: Given) -> Estimate:
    key, listed, machine = model.layout.key, given.listed, given.machine

    def cost(pieces: int) -> str:
        carved = tuple(CarvedSlat(slat, model.layout.slat(slat).name, pieces, 0.0, 0) for slat in chosen)
        line = QuotedLine(1, key, model.layout.name, pieces, carved, wood=wood_of(model.layout))
        if listed is None:
            return ""
        try:
            found = quote([line], listed)
        except InvalidError:  # the list has no price for something of it: said when there is an order
            return ""
        return amount_text(found.total, found.currency, found.minor_digits)

    pace = pace_of(machine)
    usable = (machine.board_length - 2 * machine.end_trim) * machine.board_width
    work = _work(model, quantity, area_of(model.layout) / usable / _USED, pace)
    return Estimate(cost(quantity), cost(1), schedule([work], pace, given.today).ready_on)


def _work(model: ShopModel, quantity: int, boards: float, pace: Pace) -> PieceWork:
    layout = model.layout
    return piece_work(
        layout.name, quantity, [], layout.parts, pace, boards=boards,
        shop_minutes=layout.shop_minutes, assembly_minutes=layout.assembly_minutes,
    )  # fmt: skip
