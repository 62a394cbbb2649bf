"""Finishes: another cut, another price, other steps and cautions; and what a shop's quote is made of."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest

from artwork.workpiece import Allowances
from service.batches.cautions import cautions, order_of_work
from service.orders.content import WorkshopContent
from service.orders.errors import InvalidError, NotAllowedError
from service.orders.finishes import Finish, FinishTerms, finished
from service.orders.price_list import PriceEntry, PriceKind
from service.orders.quote import NOT_INCLUDED
from service.usecases import ordering, pricing, shop
from service.usecases.answers import OrderAggregate
from tests.service.usecases.test_pricing import BENCH, PRICES, SETUP, SLAT, TWELVE
from tests.service.usecases.world import BITS, World, content, only, slat

PAINT = FinishTerms(Finish.PAINT_FILLED, least_width=1.5, film=0.1)


def offer(world: World, *finishes: FinishTerms) -> None:
    now = shop.get_settings(world.ctx, world.maker).workshop
    asked = WorkshopContent(now.name, now.allowances, now.usual_bit, now.retention_days, finishes=finishes)
    shop.save_workshop(world.ctx, world.maker, asked, now.revision)


def with_finish(world: World, whole: OrderAggregate, finish: str) -> OrderAggregate:
    order = world.look(whole).order
    line = {"id": whole.lines[0].id, "finish": Finish(finish)}
    done = ordering.amend_order(
        world.ctx, world.client(order.id), order.id, order.revision, {"lines": [line]}
    )
    world.work()
    return world.look(done)


def test_paint_is_another_cut_and_takes_both_approvals_back(world: World):
    offer(world, PAINT)
    whole = world.approved()
    painted = with_finish(world, whole, "paint-filled")
    assert only(painted).state == "checked"
    before, after = whole.proofs[0], painted.proofs[0]
    assert before.digest != after.digest
    assert after.facts["slat"]["finish"] == "paint-filled"
    assert "finish" not in before.facts["slat"], "bare wood keeps the facts that it always had"
    figures = after.facts["allowances"]
    assert (figures["least_width"], figures["finish_film"]) == (1.5, 0.1)
    again = with_finish(world, whole, "bare")
    assert again.proofs[0].digest == before.digest


def test_a_finish_asks_for_no_less_than_the_workshop_does():
    allowed = Allowances(least_width=2.0, finish_film=0.3)
    _, after = finished(slat("a", 100, 400), allowed, Finish.PAINT_FILLED, (PAINT,))
    assert (after.least_width, after.finish_film) == (2.0, 0.3)


def test_what_is_not_offered_cannot_be_ordered(world: World):
    whole = world.place()
    with pytest.raises(InvalidError, match="offers: bare"):
        with_finish(world, whole, "oiled")
    bad = replace(content(), lines=(replace(content().lines[0], finish=Finish.OILED),))
    with pytest.raises(InvalidError, match="offers: bare"):
        ordering.place_order(world.ctx, world.visitor, bad)
    for terms in ((PAINT, PAINT), (FinishTerms(Finish.BARE),), (replace(PAINT, film=9.0),)):
        with pytest.raises(InvalidError):
            offer(world, *terms)


def test_the_sheet_says_when_paint_goes_on_and_what_it_does():
    board = replace(slat("a", 100, 400), finish="paint-filled")
    steps = order_of_work([(board, BITS[0], Allowances())], floors=False)
    paint = next(at for at, words in enumerate(steps) if "paint" in words)
    assert "Round over" in steps[paint - 1] and "Sand" in steps[paint + 1]
    oiled = order_of_work([(replace(board, finish="oiled"), BITS[0], Allowances())], floors=False)
    assert "Oil" in oiled[-1]
    # NFPA and oil makers' labels say so too; which one holds for an oil is on its own label
    assert any("Rags" in words and "label" in words for words in cautions("white-oak", "oiled"))
    assert not any("Rags" in words for words in cautions("white-oak"))


def test_a_shop_quotes_steps_material_delivery_finish_and_its_own_taxes(world: World):
    offer(world, PAINT)
    entries = (
        BENCH, SLAT, SETUP,
        PriceEntry("many", PriceKind.MODEL, 119_900, "longwalk-bench", from_pieces=10),
        PriceEntry("cedar", PriceKind.MATERIAL, 400_000, "western-redcedar"),
        PriceEntry("paint", PriceKind.FINISH, 2_500, "paint-filled"),
        PriceEntry("van", PriceKind.DELIVERY, 15_000),
        PriceEntry("km", PriceKind.TRAVEL, 80),
        PriceEntry("state", PriceKind.TAX, 825, "state", "State sales tax 8.25 %"),
    )  # fmt: skip
    asked = replace(PRICES, entries=entries, deposit_percent=30, valid_days=14)
    pricing.save_prices(world.ctx, world.maker, asked, 0)
    whole = with_finish(world, world.upload(world.place()), "paint-filled")
    order = whole.order
    changes = {"delivery_address": "Lantern Lane 4\nAlderholt"}
    order = ordering.amend_order(world.ctx, world.client(order.id), order.id, order.revision, changes).order
    with pytest.raises(NotAllowedError):
        ordering.set_travel(world.ctx, world.client(order.id), order.id, order.revision, 64.0)
    ordering.set_travel(world.ctx, world.maker, order.id, order.revision, 64.0)
    found = pricing.get_quote(world.ctx, world.maker, order.id)
    assert found.current is not None
    got = {line.entry: (str(line.quantity), line.amount) for line in found.current.lines}
    # by hand: boards of the three slats, 25.4 mm thick
    volume = 25.4e-9 * (139.7 * 600 + 88.9 * 600 + 88.9 * 400) * 12
    assert float(got["cedar"][0]) == pytest.approx(volume, abs=5e-5)
    before = 12 * 119_900 + 12 * 1_800 + 6_000 + got["cedar"][1] + 12 * 2_500 + 15_000 + 64 * 80
    assert got["many"] == ("12", 12 * 119_900)
    assert (got["km"], got["van"], got["paint"]) == (("64.0", 5_120), ("1", 15_000), ("12", 30_000))
    assert got["state"] == ("0.0825", round(before * 0.0825))
    assert found.current.total == before + got["state"][1]
    assert found.current.deposit == round(found.current.total * 0.3)
    assert found.current.not_included == ""
    assert found.valid_until == world.clock.now().date() + timedelta(days=14)
    assert "paid to the workshop itself" in found.current.sentence


def test_prices_that_were_shown_hold_for_their_days_and_no_longer(world: World):
    pricing.save_prices(world.ctx, world.maker, replace(PRICES, valid_days=14), 0)
    whole = world.offered()

    def total() -> int:
        current = pricing.get_quote(world.ctx, world.client(whole.order.id), whole.order.id).current
        assert current is not None
        return current.total

    assert total() == TWELVE
    dearer = replace(PRICES, entries=(replace(BENCH, price=139_900), SLAT, SETUP), valid_days=14)
    pricing.save_prices(world.ctx, world.maker, dearer, 1)
    assert total() == TWELVE
    world.clock.pass_by(days=15)
    assert total() == TWELVE + 12 * 10_000


@pytest.mark.parametrize(
    "entry",
    [
        PriceEntry("t", PriceKind.TAX, 825, "", "Tax"),
        PriceEntry("t", PriceKind.TAX, 825, "state", ""),
        PriceEntry("t", PriceKind.TAX, 10_001, "state", "Tax"),
        PriceEntry("t", PriceKind.ORDER_SETUP, 5, from_pieces=10),
        PriceEntry("t", PriceKind.MODEL, 5, "longwalk-bench", from_pieces=0),
        PriceEntry("t", PriceKind.TRAVEL, 5, "far"),
    ],
)
def test_prices_that_make_no_sense_are_refused(world: World, entry):
    with pytest.raises(InvalidError):
        pricing.save_prices(world.ctx, world.maker, replace(PRICES, entries=(BENCH, entry)), 0)


def test_a_list_of_before_keeps_its_facts_and_its_words(world: World):
    saved = pricing.save_prices(world.ctx, world.maker, PRICES, 0).prices
    assert set(saved.facts) == {"version", "currency", "minor_digits", "rounding", "entries"}
    assert all("from_pieces" not in entry for entry in saved.facts["entries"])
    whole = world.offered()
    current = pricing.get_quote(world.ctx, world.maker, whole.order.id).current
    assert current is not None and current.facts["not_included"] == NOT_INCLUDED
    assert {"deposit", "valid_days"}.isdisjoint(current.facts)
