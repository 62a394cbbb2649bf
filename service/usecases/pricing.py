"""The workshop's prices, and what an order costs by them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta

from sqlalchemy import Connection

from service.orders.actors import Actor, Role, Scope
from service.orders.errors import ConflictError, FieldError, InvalidError, NotFoundError, StaleError
from service.orders.order import Line, Order
from service.orders.price_list import PriceEntry, PriceList, Rounding, amount_text
from service.orders.quote import (
    CarvedSlat,
    Delivery,
    Quote,
    QuotedLine,
    SignedQuote,
    changes,
    quote,
    refuse_other_quote,
)
from service.orders.quoting import quoted_lines, wood_of
from service.orders.states import OrderState
from service.orders.workshop import Settings
from service.store import art, orders, prices, shop, suites
from service.store.tenant_scope import TenantScope
from service.usecases.answers import OrderAggregate
from service.usecases.context import Context
from service.usecases.desk import changing
from service.usecases.guard import need_role, need_scope, reach_of
from service.usecases.opened import OpenOrder
from service.usecases.order_aggregate import read_aggregate

MOST_LISTS = 100


@dataclass(frozen=True)
class PricesContent:
    """A price list as asked for; saving makes a new version of all of it."""

    currency: str
    minor_digits: int
    rounding: Rounding
    entries: tuple[PriceEntry, ...]
    deposit_percent: int = 0
    valid_days: int = 0


@dataclass(frozen=True)
class WantedSlat:
    """A slat that would carry art.

    Attributes:
        minutes: of carving on one piece, as its proof estimates them.
        personalised: whether each piece would carry a text of its own.
    """

    slat_key: str
    minutes: float = 0.0
    personalised: bool = False


@dataclass(frozen=True)
class WantedLine:
    """So many pieces of a model that somebody may order."""

    model_key: str
    quantity: int
    slats: tuple[WantedSlat, ...] = ()


@dataclass(frozen=True)
class DatedPrices:
    """A price list and since when it holds."""

    prices: PriceList
    made_at: datetime


@dataclass(frozen=True)
class OrderQuote:
    """What an order costs.

    Attributes:
        current: what signing agrees to; ``None`` while the workshop has no price list, or there is no price.
        signed: what the client has agreed to last.
        changed: what ``current`` changes against ``signed``, in sentences.
        lacks: why there is no quote, in words; empty where there is one or no price list.
        valid_until: the last day on which ``current`` can be signed whatever list follows; ``None`` for no promise.
    """

    current: Quote | None
    signed: SignedQuote | None
    changed: tuple[str, ...]
    lacks: str = ""
    valid_until: date | None = None


@dataclass(frozen=True)
class Agreed:
    """The digest of the quote a signature agrees to, its total in words, and whether it is agreed to the first time."""

    digest: str
    words: str
    new: bool


def get_prices(ctx: Context, actor: Actor) -> DatedPrices | None:
    """The price list that holds now, ``None`` where there is none. NotAllowedError."""
    found = list_prices(ctx, actor)
    return found[0] if found else None


def list_prices(ctx: Context, actor: Actor) -> tuple[DatedPrices, ...]:
    """Every price list there was, newest first, at most 100; makers, helpers and sites. NotAllowedError."""
    need_role(actor, "see the workshop's prices", Role.MAKER, Role.HELPER, Role.SHOP_SITE)
    need_scope(actor, Scope.ORDERS_READ)
    with ctx.store.reading() as connection:
        found = prices.all_prices(connection, actor.workshop_id, MOST_LISTS)
    return tuple(DatedPrices(*each) for each in found)


def quote_for(ctx: Context, actor: Actor, lines: tuple[WantedLine, ...]) -> Quote | None:
    """What these would cost by the price list that holds now, ``None`` where there is none; nothing is kept.

    NotAllowedError, InvalidError (an unknown model or slat, or no price for a part of it).
    """
    need_role(actor, "ask for a quote", Role.MAKER, Role.HELPER, Role.SHOP_SITE)
    need_scope(actor, Scope.ORDERS_READ)
    with ctx.store.reading() as connection:
        settings = shop.read_settings(connection, actor.workshop_id)
        holding = prices.current_prices(connection, actor.workshop_id)
    counted = tuple(_wanted(place, line, settings) for place, line in enumerate(lines, 1))
    return None if holding is None else quote(counted, holding)


def _wanted(position: int, line: WantedLine, settings: Settings) -> QuotedLine:
    model, field = settings.model(line.model_key), f"lines.{position - 1}"
    if model is None or model.retired:
        raise InvalidError(
            FieldError(f"{field}.model_key", "unknown", "The workshop does not offer this model.")
        )
    names = {placed.slat.key: placed.slat.name for placed in model.layout.slats if placed.carries_art}
    if not {slat.slat_key for slat in line.slats} <= set(names):
        raise InvalidError(
            FieldError(f"{field}.slats", "unknown", f"Art goes on {', '.join(sorted(names))}.")
        )
    carved = (
        CarvedSlat(
            slat.slat_key,
            names[slat.slat_key],
            line.quantity,
            slat.minutes * line.quantity,
            line.quantity if slat.personalised else 0,
        )
        for slat in line.slats
    )
    wood = wood_of(model.layout)
    return QuotedLine(position, line.model_key, model.layout.name, line.quantity, tuple(carved), wood=wood)


def save_prices(ctx: Context, actor: Actor, content: PricesContent, expected_version: int) -> DatedPrices:
    """A new version of the price list (expected_version 0: the first). NotAllowedError, InvalidError, StaleError.

    What was signed keeps its price; what is signed from now on is quoted by the new list.
    """
    with changing(ctx, actor) as desk:
        known = prices.current_prices(desk.connection, actor.workshop_id)
        stored = 0 if known is None else known.version
        if stored != expected_version:
            raise StaleError(stored)
        saved = PriceList(stored + 1, **vars(content))
        now = ctx.clock.now()
        prices.insert_prices(desk.connection, actor.workshop_id, saved, now)
        desk.changed("its prices", prices=saved.facts, price_list=saved.digest, revision=saved.version)
        return DatedPrices(saved, now)


def get_quote(ctx: Context, actor: Actor, order_id: str) -> OrderQuote:
    """What the order costs as it stands now. NotFoundError.

    A quote is kept when it is first shown, so that a later one can say what it changes.
    """
    reach = reach_of(actor)
    with ctx.store.reading() as connection:
        order = orders.find_order(connection, reach, order_id)
        if order is None:
            raise NotFoundError("order")
        within = quoted_scope(order)
        whole = read_aggregate(connection, reach, order)
        signed = prices.signed_quote(connection, within)
        settings = shop.read_settings(connection, order.workshop_id)
        try:
            current, lacks = quote_of(connection, whole, settings, signed, ctx.clock.now()), ""
        except ConflictError as error:
            current, lacks = None, str(error)
        before = prices.shown_quotes(connection, within)
        shown_at = next((at for quoted, at in before if quoted == current), None)
    if current is not None and shown_at is None:
        shown_at = ctx.clock.now()
        with ctx.store.writing() as connection:
            prices.keep_quote(connection, within, current, shown_at)
    changed = () if current is None or signed is None else changes(signed.quote, current)
    until = None if current is None or shown_at is None else valid_until(current, shown_at)
    return OrderQuote(current, signed, changed, lacks, until)


def valid_until(quoted: Quote, shown_at: datetime) -> date | None:
    """The last day on which a quote's prices hold, whatever list follows; ``None`` for no promise."""
    return shown_at.date() + timedelta(days=quoted.valid_days) if quoted.valid_days else None


def quote_of(
    connection: Connection,
    whole: OrderAggregate,
    settings: Settings,
    signed: SignedQuote | None,
    now: datetime,
) -> Quote | None:
    """What signing this order agrees to; ``None`` for a workshop without prices. ConflictError "no-price".

    A price that was signed holds as long as what is counted stays the same, whatever the list says since; one that was
    shown, for as long as the list it was made by says.
    """
    workshop_id = whole.order.workshop_id
    whole, ids = _with_parts(connection, whole)
    reach = TenantScope(workshop_id)
    listed = bool(suites.suites_of_orders(connection, reach, ids))
    parts = suites.parts_of_orders(connection, reach, ids) if listed else []
    texts = {part.carving_id: 1 for part in parts if part.text}
    if signed is not None:
        then = prices.find_prices(connection, workshop_id, signed.quote.price_list_version)
        if then is not None and (held := _counted(whole, settings, texts, then)) == signed.quote:
            return held
    newest = prices.current_prices(connection, workshop_id)
    for quoted, at in prices.shown_quotes(connection, quoted_scope(whole.order)):
        last = valid_until(quoted, at)
        if newest is None or quoted.price_list_version == newest.version or last is None or now.date() > last:
            continue
        then = prices.find_prices(connection, workshop_id, quoted.price_list_version)
        if then is not None and (held := _counted(whole, settings, texts, then)) == quoted:
            return held
    return None if newest is None else _counted(whole, settings, texts, newest)


def quoted_scope(order: Order) -> TenantScope:
    """The order that keeps the quotes: one holds for an order and all that are part of it."""
    return TenantScope(order.workshop_id, order.part_of or order.id)


def _with_parts(connection: Connection, whole: OrderAggregate) -> tuple[OrderAggregate, list[str]]:
    """An order as it was before pieces were made orders of their own, and the ids of all of them.

    Pieces of one line are counted together again, so that a split changes no price. What was cancelled is left out.
    """
    order = whole.order
    every = orders.orders_of_whole(connection, order.workshop_id, order.part_of or order.id)
    ids = [each.id for each in every if each.state is not OrderState.CANCELLED or each.id == order.id]
    if ids == [order.id]:
        return whole, ids
    reach = TenantScope(order.workshop_id)
    found = orders.lines_of_orders(connection, reach, ids)
    merged: dict[tuple[int, str], Line] = {}
    line_of: dict[str, str] = {}
    for line in sorted(found, key=lambda each: (each.of_line is not None, each.position)):
        at = (line.of_line or line.position, line.model_key)
        known = merged.get(at)
        merged[at] = (
            replace(line, position=at[0])
            if known is None
            else replace(known, quantity=known.quantity + line.quantity)
        )
        line_of[line.id] = merged[at].id
    carvings = orders.carvings_of_orders(connection, reach, ids)
    counted = replace(
        whole,
        order=next(
            (each for each in every if each.id == (order.part_of or order.id)), order
        ),  # its journey counts
        lines=tuple(merged.values()),
        carvings=tuple(replace(each, line_id=line_of[each.line_id]) for each in carvings),
        proofs=tuple(art.current_proofs(connection, reach, ids)),
    )
    return counted, ids


def agree(opened: OpenOrder, shown: str) -> Agreed | None:
    """The quote that this signature agrees to, stored as signed; ``None`` for a workshop without prices.

    Called when the order is otherwise as it is signed. ConflictError "quote-changed", "no-price".
    """
    whole = read_aggregate(opened.connection, opened.reach, opened.order)
    scope = quoted_scope(opened.order)
    signed = prices.signed_quote(opened.connection, scope)
    current = quote_of(opened.connection, whole, opened.settings, signed, opened.now)
    if current is None:
        return None
    refuse_other_quote(shown, current, prices.find_quote(opened.connection, scope, shown))
    new = signed is None or signed.quote != current
    if new:
        prices.sign_quote(opened.connection, scope, current, _later_than(signed, opened))
        opened.changed()
    total = amount_text(current.total, current.currency, current.minor_digits)
    return Agreed(current.digest, total, new)


def _later_than(signed: SignedQuote | None, opened: OpenOrder) -> datetime:
    """Now, but after what was signed or released before, though the clock was set back: the last one signed holds."""
    before = (None if signed is None else signed.signed_at, opened.order.released_at)
    return max([opened.now, *(at + timedelta(microseconds=1) for at in before if at is not None)])


def need_agreed(opened: OpenOrder) -> datetime:
    """What stands before release: the client's price is that of the order as it is. ConflictError "quote-changed".

    Gives the moment of the release: not before the price was signed, though the clock was set back. Orders signed
    before the workshop had any prices have none.
    """
    signed = prices.signed_quote(opened.connection, quoted_scope(opened.order))
    if signed is None:
        return opened.now
    whole = read_aggregate(opened.connection, opened.reach, opened.order)
    current = quote_of(opened.connection, whole, opened.settings, signed, opened.now)
    if current != signed.quote:
        said = () if current is None else changes(signed.quote, current)
        raise ConflictError(
            "quote-changed",
            f"The client agreed to another price. {' '.join(said)} Ask the client to sign the new quote.",
        )
    return max(opened.now, signed.signed_at)


def _counted(whole: OrderAggregate, settings: Settings, texts: Mapping[str, int], by: PriceList) -> Quote:
    try:
        counted = quoted_lines(whole.lines, whole.carvings, whole.proofs, settings, texts)
        journey = Delivery(bool(whole.order.delivery_address.strip()), whole.order.travel_km)
        return quote(counted, by, journey)
    except InvalidError as error:
        words = " ".join(problem.message for problem in error.problems)
        raise ConflictError("no-price", f"There is no price for this order yet. {words}") from None
    except KeyError:
        raise ConflictError(
            "no-price", "There is no price for this order: the workshop no longer makes a part of it."
        ) from None
