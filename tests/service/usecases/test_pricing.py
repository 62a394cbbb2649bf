"""Prices and quotes: what is shown is what is signed; a changed price or cut needs a new signature."""

from __future__ import annotations

from dataclasses import asdict, replace

import pytest

from service.orders.errors import ConflictError, InvalidError, NotAllowedError, NotFoundError, StaleError
from service.orders.price_list import PriceEntry, PriceKind, Rounding
from service.orders.quote import quote_from
from service.orders.record import EntryKind
from service.rest.responses.prices import prices_body
from service.usecases import approving, artworks, looking, ordering, pricing, producing
from service.usecases.answers import OrderAggregate
from service.usecases.commands import LineContent, Upload
from tests.service.usecases.world import World, content, shown

BENCH = PriceEntry("bench", PriceKind.MODEL, 129_900, "longwalk-bench")
SLAT = PriceEntry("slat", PriceKind.CARVED_SLAT, 1_800)
SETUP = PriceEntry("setup", PriceKind.ORDER_SETUP, 6_000)
PRICES = pricing.PricesContent("USD", 2, Rounding.HALF_EVEN, (BENCH, SLAT, SETUP))
DEARER = replace(PRICES, entries=(replace(BENCH, price=139_900), SLAT, SETUP))
TWELVE = 12 * 129_900 + 12 * 1_800 + 6_000


def digest(world: World, whole: OrderAggregate) -> str:
    found = pricing.get_quote(world.ctx, world.client(whole.order.id), whole.order.id)
    assert found.current is not None
    return found.current.digest


def sign(world: World, whole: OrderAggregate, quote: str) -> OrderAggregate:
    order = whole.order.id
    return approving.sign_off(world.ctx, world.client(order), order, shown(world.look(whole)), quote)


def agreed(world: World) -> OrderAggregate:
    pricing.save_prices(world.ctx, world.maker, PRICES, 0)
    whole = world.offered()
    sign(world, whole, digest(world, whole))
    return approving.find_feasible(world.ctx, world.maker, whole.order.id, shown(whole))


def release(world: World, whole: OrderAggregate) -> OrderAggregate:
    now = world.look(whole)
    return producing.release(world.ctx, world.maker, now.order.id, now.order.revision, shown(now))


def test_without_a_price_list_nothing_is_asked(world: World):
    none = pricing.get_prices(world.ctx, world.maker)
    assert none is None
    body = prices_body(none)
    assert (body.version, body.entries, body.digest, body.made_at) == (0, (), None, None)
    whole = world.offered()
    found = pricing.get_quote(world.ctx, world.maker, whole.order.id)
    assert (found.current, found.signed, found.changed, found.lacks) == (None, None, (), "")
    release(world, approving.find_feasible(world.ctx, world.maker, whole.order.id, shown(world.sign(whole))))


def test_the_quote_counts_the_order_and_is_part_of_what_is_signed(world: World):
    whole = agreed(world)
    found = pricing.get_quote(world.ctx, world.client(whole.order.id), whole.order.id)
    assert found.signed is not None
    assert found.current == found.signed.quote
    assert found.current.total == TWELVE
    entries = looking.decisions_by_order_ids(world.ctx, world.maker, [whole.order.id])[0]
    (signed,) = [entry for entry in entries if entry.kind is EntryKind.SIGN_OFF]
    assert signed.facts["quote"] == found.current.digest
    assert release(world, whole).order.state == "released"


def test_signing_without_the_price_or_with_an_earlier_one_is_refused_and_says_what_changed(world: World):
    pricing.save_prices(world.ctx, world.maker, PRICES, 0)
    whole = world.offered()
    with pytest.raises(ConflictError, match="USD 15,864") as refused:
        sign(world, whole, "")
    assert refused.value.code == "quote-changed"
    seen = digest(world, whole)
    pricing.save_prices(world.ctx, world.maker, DEARER, 1)
    with pytest.raises(ConflictError, match=r"USD 1,299\.00 becomes 12 × USD 1,399\.00.*The total changes"):
        sign(world, whole, seen)
    assert world.look(whole).carvings[0].state == "offered"
    sign(world, whole, digest(world, whole))


def test_a_signed_price_holds_when_the_list_changes(world: World):
    whole = agreed(world)
    pricing.save_prices(world.ctx, world.maker, DEARER, 1)
    found = pricing.get_quote(world.ctx, world.maker, whole.order.id)
    assert found.current is not None
    assert (found.current.total, found.changed) == (TWELVE, ())
    release(world, whole)


def test_other_pieces_need_a_new_signature(world: World):
    """A line without art is added: every proof is still approved, but not the price."""
    whole = agreed(world)
    client, order = world.client(whole.order.id), whole.order
    lines = (LineContent("longwalk-bench", 12, ("back-wide",), id=whole.lines[0].id),)
    more = replace(content(), lines=(*lines, LineContent("longwalk-bench", 1, ())))
    ordering.amend_order(world.ctx, client, order.id, world.look(whole).order.revision, asdict(more))
    with pytest.raises(ConflictError, match=r"another price.*New: Longwalk bench"):
        release(world, whole)
    with pytest.raises(ConflictError, match="New: Longwalk bench"):
        approving.sign_off(world.ctx, client, order.id, shown(whole), digest_of_signed(world, whole))
    found = pricing.get_quote(world.ctx, client, order.id)
    assert found.changed
    again = sign(world, whole, digest(world, whole))
    assert again.carvings[0].state == "approved"
    assert release(world, whole).order.state == "released"


def digest_of_signed(world: World, whole: OrderAggregate) -> str:
    found = pricing.get_quote(world.ctx, world.maker, whole.order.id)
    assert found.signed is not None
    return found.signed.quote.digest


def test_other_art_is_quoted_anew(world: World):
    minutes = replace(PRICES, entries=(*PRICES.entries, PriceEntry("minute", PriceKind.CARVING_MINUTE, 95)))
    pricing.save_prices(world.ctx, world.maker, minutes, 0)
    whole = world.offered()
    before = digest(world, whole)
    client = world.client(whole.order.id)
    artworks.upload_artwork(
        world.ctx, client, whole.order.id, Upload(b"other", "other.svg", "", (whole.carvings[0].id,))
    )
    during = pricing.get_quote(world.ctx, client, whole.order.id)
    assert during.current is not None
    assert during.current.digest != before, "what is not proved yet has no carving time"
    world.work()


def test_a_missing_price_is_told_and_stops_the_signature(world: World):
    pricing.save_prices(world.ctx, world.maker, replace(PRICES, entries=(BENCH, SETUP)), 0)
    whole = world.offered()
    found = pricing.get_quote(world.ctx, world.client(whole.order.id), whole.order.id)
    assert found.current is None
    assert "no price for carving" in found.lacks
    with pytest.raises(ConflictError) as refused:
        sign(world, whole, "")
    assert refused.value.code == "no-price"


def test_every_list_is_kept_and_recorded(world: World):
    first = pricing.save_prices(world.ctx, world.maker, PRICES, 0)
    with pytest.raises(StaleError):
        pricing.save_prices(world.ctx, world.maker, DEARER, 0)
    second = pricing.save_prices(world.ctx, world.maker, DEARER, 1)
    assert pricing.list_prices(world.ctx, world.helper) == (second, first)
    assert pricing.get_prices(world.ctx, world.stranger) is None
    with pytest.raises(InvalidError, match="three-letter"):
        pricing.save_prices(world.ctx, world.maker, replace(PRICES, currency="dollar"), 2)


def test_prices_are_the_makers_and_quotes_the_orders(world: World):
    pricing.save_prices(world.ctx, world.maker, PRICES, 0)
    whole, other = world.offered(), world.place()
    for actor in (world.helper, world.client(whole.order.id)):
        with pytest.raises(NotAllowedError):
            pricing.save_prices(world.ctx, actor, PRICES, 1)
    with pytest.raises(NotAllowedError):
        pricing.get_prices(world.ctx, world.client(whole.order.id))
    for actor in (world.client(other.order.id), world.stranger, world.visitor):
        with pytest.raises(NotFoundError):
            pricing.get_quote(world.ctx, actor, whole.order.id)


def test_a_quote_comes_back_from_its_facts(world: World):
    whole = agreed(world)
    found = pricing.get_quote(world.ctx, world.maker, whole.order.id)
    assert found.current is not None
    assert quote_from(found.current.facts) == found.current
