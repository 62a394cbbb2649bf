"""Part of an order earlier: approvals go with the pieces, one price holds, both sides are verified by themselves."""

from __future__ import annotations

from dataclasses import asdict, replace
from datetime import date
from pathlib import Path

import pytest

from service.batches.verify import verify
from service.orders.errors import ConflictError, InvalidError, NotAllowedError, NotFoundError, StaleError
from service.orders.items import ItemState
from service.orders.part_orders import PartOfLine
from service.orders.price_list import PriceEntry, PriceKind
from service.orders.record import EntryKind
from service.orders.work import BatchState
from service.usecases import (
    approving,
    items,
    looking,
    ordering,
    pricing,
    privacy_and_audit,
    producing,
    splitting,
    suites,
)
from service.usecases.answers import OrderAggregate
from service.usecases.batching import altered_releases
from service.usecases.commands import LineContent
from tests.service.usecases.test_pricing import PRICES, TWELVE, agreed, digest, release, sign
from tests.service.usecases.test_suites import names_on, seen
from tests.service.usecases.world import World, content, shown, states


def split(world: World, whole: OrderAggregate, quantity: int, **more: object) -> OrderAggregate:
    order = world.look(whole).order
    asked = (PartOfLine(whole.lines[0].id, quantity, more.pop("pieces", ())),)  # type: ignore[arg-type]
    return splitting.split_order(world.ctx, world.maker, order.id, order.revision, lines=asked, **more)  # type: ignore[arg-type]


def archived(world: World, whole: OrderAggregate, folder: Path) -> Path:
    batch = producing.take_batch(world.ctx, world.maker, (whole.order.id,))
    world.work()
    batch = producing.get_batch(world.ctx, world.maker, batch.id)
    assert batch.state is BatchState.READY, batch.message
    path = folder / f"{batch.id}.zip"
    path.write_bytes(world.blobs.get(batch.archive or ""))
    return path


@pytest.mark.parametrize("set_by", [-2, 2])
def test_a_clock_that_is_set_meanwhile_changes_no_agreed_price(world: World, tmp_path, set_by):
    """The client signs, adds a piece and signs again; the clock is set by days before and after."""
    whole = agreed(world)
    client, order = world.client(whole.order.id), whole.order
    world.clock.pass_by(days=set_by)
    lines = (LineContent("longwalk-bench", 12, ("back-wide",), id=whole.lines[0].id),)
    more = replace(content(), lines=(*lines, LineContent("longwalk-bench", 1, ())))
    ordering.amend_order(world.ctx, client, order.id, world.look(whole).order.revision, asdict(more))
    signed = digest(world, whole)
    sign(world, whole, signed)
    found = pricing.get_quote(world.ctx, client, order.id)
    assert found.signed is not None
    assert found.signed.quote.digest == signed
    world.clock.pass_by(days=-set_by)
    release(world, whole)
    assert verify(archived(world, whole, tmp_path)).sound


def test_ten_are_wanted_earlier_and_nobody_signs_again(world: World, tmp_path):
    whole = agreed(world)
    part = split(world, whole, 10, needed_by=date(2026, 6, 1))
    rest = world.look(whole)
    assert (part.lines[0].quantity, rest.lines[0].quantity) == (10, 2)
    assert (part.order.part_of, part.order.needed_by) == (whole.order.id, date(2026, 6, 1))
    assert states(part) == states(rest) == ["approved"]
    assert part.proofs[0].digest == rest.proofs[0].digest == whole.proofs[0].digest
    assert (part.proofs[0].pieces, rest.proofs[0].pieces) == (10, 2)
    for each in (part, rest):
        quote = pricing.get_quote(world.ctx, world.client(each.order.id), each.order.id)
        assert quote.current is not None and quote.signed is not None
        assert quote.current.total == quote.signed.quote.total == TWELVE, (
            "priced once, by the signature of before"
        )
    early = release(world, part)
    assert (early.order.state, world.look(whole).order.state) == ("released", "submitted")
    late = release(world, rest)
    assert list(altered_releases(world.ctx)) == []
    for each in (early, late):
        verdict = verify(archived(world, each, tmp_path))
        assert verdict.sound, verdict.sentence
    assert privacy_and_audit.verify_record(world.ctx, world.maker) is None
    asked = looking.decisions_by_order_ids(world.ctx, world.maker, [part.order.id])[0]
    assert [entry.kind for entry in asked] == [EntryKind.SPLIT, EntryKind.RELEASE]


def test_the_journey_is_paid_once_and_needs_no_new_signature(world: World):
    van = (PriceEntry("van", PriceKind.DELIVERY, 15_000), PriceEntry("km", PriceKind.TRAVEL, 80))
    pricing.save_prices(world.ctx, world.maker, replace(PRICES, entries=(*PRICES.entries, *van)), 0)
    whole = world.offered()
    order = whole.order
    changes = {"delivery_address": "Lantern Lane 4"}
    order = ordering.amend_order(world.ctx, world.client(order.id), order.id, order.revision, changes).order
    ordering.set_travel(world.ctx, world.maker, order.id, order.revision, 64.0)
    sign(world, whole, digest(world, whole))
    approving.find_feasible(world.ctx, world.maker, order.id, shown(world.look(whole)))
    part = split(world, whole, 10)
    for each in (part, whole):
        assert release(world, each).order.state == "released"


def test_what_is_decided_later_on_one_side_holds_on_that_side_alone(world: World):
    whole = agreed(world)
    part = split(world, whole, 10)
    approving.reject(world.ctx, world.maker, shown(world.look(whole))[0], "The board is too thin.")
    with pytest.raises(ConflictError, match="Not everything is approved"):
        release(world, whole)
    assert release(world, part).order.state == "released"


@pytest.mark.parametrize(
    ("quantity", "pieces", "code"),
    [(13, (), "more-than-there-is"), (12, (), "all-of-it"), (2, (1,), "count"), (2, (1, 13), "unknown")],
)
def test_a_split_that_does_not_add_up_is_refused_in_words(world: World, quantity, pieces, code):
    whole = world.approved()
    with pytest.raises(InvalidError) as refused:
        split(world, whole, quantity, pieces=pieces)
    (problem,) = refused.value.problems
    assert problem.code == code and problem.message
    assert world.look(whole) == whole


def test_only_a_maker_splits_what_is_sent_in_and_not_released(world: World):
    draft, sent = world.place(), world.released()
    for whole in (draft, sent):
        with pytest.raises(ConflictError):
            split(world, whole, 2)
    asked = (PartOfLine(sent.lines[0].id, 2),)
    order = sent.order
    with pytest.raises(NotAllowedError):
        splitting.split_order(world.ctx, world.helper, order.id, order.revision, lines=asked)
    with pytest.raises(StaleError):
        splitting.split_order(world.ctx, world.maker, order.id, order.revision - 1, lines=asked)
    recalled = producing.recall(world.ctx, world.maker, order.id, order.revision, "Ten are wanted earlier.")
    with pytest.raises(NotFoundError):
        splitting.split_order(
            world.ctx, world.maker, order.id, recalled.order.revision, lines=(PartOfLine("a" * 26, 1),)
        )
    assert split(world, recalled, 2).lines[0].quantity == 2


def test_what_was_ticked_goes_with_its_pieces(world: World):
    whole = world.released()
    keys = ("1-12-1-back-wide", "1-2-1-back-wide")
    items.tick_items(
        world.ctx, world.maker, whole.order.id, keys, seen=ItemState.TO_CARVE, to=ItemState.CARVED
    )
    now = world.look(whole).order
    recalled = producing.recall(world.ctx, world.maker, now.id, now.revision, "Ten are wanted earlier.")
    part = split(world, recalled, 10)
    for each, carved in ((part, "1-10-1-back-wide"), (whole, "1-2-1-back-wide")):
        release(world, each)
        ticked = [
            item.key
            for item in items.list_items(world.ctx, world.maker, each.order.id)
            if item.at is not None
        ]
        assert ticked == [carved]


def test_pieces_with_texts_of_their_own_are_chosen_by_number(real_world: World):
    world = real_world
    texts = PriceEntry("text", PriceKind.PERSONALISED_PIECE, 700)
    pricing.save_prices(world.ctx, world.maker, replace(PRICES, entries=(*PRICES.entries, texts)), 0)
    whole = world.submit(names_on(world, world.place()))
    order, client = whole.order.id, world.client(whole.order.id)
    (found,) = suites.list_suites(world.ctx, client, order)
    approving.offer_proofs(world.ctx, world.maker, order, (), (seen(found),))
    kinds = {approving.kind_of(name) for proof in world.look(whole).proofs for name in proof.remarks}
    if kinds:
        approving.waive_together(world.ctx, client, seen(found), tuple(kinds), order)
    quote = pricing.get_quote(world.ctx, client, order).current
    assert quote is not None
    approving.sign_off(world.ctx, client, order, (), quote.digest, whole=(seen(found),))
    approving.find_feasible(world.ctx, world.maker, order, (), whole=(seen(found),))
    part = split(world, whole, 2, pieces=(1, 3))
    for each, said in ((part, ["Rosa", "Jo Quill"]), (whole, ["Ewan"])):
        (theirs,) = suites.list_suites(world.ctx, world.maker, each.order.id)
        assert [(one.place, one.text) for one in theirs.parts] == list(enumerate(said, 1))
        assert [carving.piece for carving in theirs.carvings] == list(range(1, len(said) + 1))
        now = world.look(each).order
        done = producing.release(world.ctx, world.maker, now.id, now.revision, (), whole=(seen(theirs),))
        assert done.order.state == "released"


def test_a_part_that_is_cancelled_leaves_the_price(world: World):
    whole = agreed(world)
    part = split(world, whole, 10)
    ordering.cancel_order(world.ctx, world.maker, part.order.id, part.order.revision, "Not wanted after all.")
    quote = pricing.get_quote(world.ctx, world.maker, whole.order.id)
    assert quote.current is not None
    assert quote.current.total == 2 * 129_900 + 2 * 1_800 + 6_000
    with pytest.raises(ConflictError, match="another price"):
        release(world, whole)
