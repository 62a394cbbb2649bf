"""Placing, amending, sending off, cancelling, ordering again."""

from __future__ import annotations

from dataclasses import asdict, replace
from datetime import date

import pytest
from sqlalchemy import select

from service.access.links import find_link
from service.access.sessions import Visitor as AtDoor
from service.access.sessions import find_client_session
from service.orders.actors import Scope
from service.orders.errors import ConflictError, InvalidError, NotAllowedError, NotFoundError, StaleError
from service.orders.order import Contact
from service.orders.states import CarvingState, OrderState
from service.store.mail_tables import messages
from service.store.record_tables import once_answers
from service.usecases import artworks, looking, ordering, people, shop, signing_in
from service.usecases.commands import IdempotencyKey, LineContent, Upload

from .world import World, bench, content, only, shown, states


def letters(world: World) -> list[str]:
    with world.database.reading() as connection:
        return list(connection.scalars(select(messages.c.kind).order_by(messages.c.created_at)))


def amended(world: World, whole, actor=None, **changes):
    order = whole.order
    lines = tuple(
        LineContent(
            line.model_key,
            line.quantity,
            tuple(c.slat_key for c in whole.carvings),
            note=line.note,
            id=line.id,
        )
        for line in whole.lines
    )
    before = replace(content(), contact=order.contact, lines=lines)
    asked = replace(before, **changes)
    return ordering.amend_order(world.ctx, actor or world.maker, order.id, order.revision, asdict(asked))


def test_a_visitor_gets_a_draft_and_a_link_that_opens_it(world: World):
    placed = ordering.place_order(world.ctx, world.visitor, content())
    order = placed.whole.order
    assert (order.number, order.state, order.revision) == (1, OrderState.DRAFT, 1)
    with world.database.reading() as connection:
        grant = find_link(connection, placed.link_token, world.clock.now())
    assert grant is not None
    assert grant.order_id == order.id
    assert letters(world) == ["link"]


def test_numbers_are_counted_per_workshop(world: World):
    numbers = [world.place().order.number for _ in range(3)]
    theirs = ordering.place_order(world.ctx, world.stranger, content()).whole.order.number
    assert (numbers, theirs) == ([1, 2, 3], 1)


def test_everything_wrong_is_said_at_once_and_nothing_is_stored(world: World):
    bad = replace(content(), lines=(LineContent("sofa", 0, ()), LineContent("longwalk-bench", -1, ("leg",))))
    with pytest.raises(InvalidError) as caught:
        ordering.place_order(world.ctx, world.visitor, bad)
    assert {p.field for p in caught.value.problems} == {
        "lines.0.quantity", "lines.0.model_key", "lines.1.quantity", "lines.1.slats.0",
    }  # fmt: skip
    assert looking.list_orders(world.ctx, world.maker).items == ()
    assert world.place().order.number == 1


@pytest.mark.parametrize("who", ["helper", "client", "reader"])
def test_others_place_no_orders(world: World, who):
    actor = {
        "helper": world.helper,
        "client": world.client("anything"),
        "reader": world.site(Scope.ORDERS_READ),
    }[who]
    with pytest.raises(NotAllowedError):
        ordering.place_order(world.ctx, actor, content())


def test_a_draft_is_sent_off_once_it_is_complete(world: World):
    whole = ordering.place_order(world.ctx, world.visitor, replace(content(), contact=Contact())).whole
    client = world.client(whole.order.id)
    with pytest.raises(InvalidError) as caught:
        ordering.submit_order(world.ctx, client, whole.order.id, whole.order.revision)
    assert {p.field for p in caught.value.problems} == {"contact.name", "contact.email"}
    whole = amended(world, whole, client, contact=content().contact)
    whole = ordering.submit_order(world.ctx, client, whole.order.id, whole.order.revision)
    assert whole.order.state is OrderState.SUBMITTED
    assert whole.order.submitted_at == world.clock.now()
    assert sorted(letters(world)) == ["link", "submitted"]


def test_whoever_looked_too_long_ago_is_told(world: World):
    whole = world.place()
    amended(world, whole, note="leave it at the gate")
    with pytest.raises(StaleError) as caught:
        amended(world, whole, note="no, at the shed")
    assert caught.value.current == 2
    assert world.look(whole).order.note == "leave it at the gate"


def test_amending_keeps_lines_it_names_and_drops_the_others(world: World):
    whole = world.upload(world.place(("back-wide", "back-left")))
    wide = next(c for c in whole.carvings if c.slat_key == "back-wide")
    line = LineContent("longwalk-bench", 12, ("back-wide",), note="first", id=whole.lines[0].id)
    more = LineContent("longwalk-bench", 2, ("back-left",))
    after = amended(world, whole, lines=(line, more))
    assert [(each.position, each.quantity, each.note) for each in after.lines] == [
        (1, 12, "first"),
        (2, 2, ""),
    ]
    assert sorted(states(after)) == ["checked", "no-art"]
    assert wide in after.carvings
    only_new = amended(world, after, lines=(more,))
    assert states(only_new) == ["no-art"]
    assert only_new.proofs == ()


def test_another_quantity_needs_new_approvals(world: World):
    whole = world.approved()
    line = LineContent("longwalk-bench", 13, ("back-wide",), id=whole.lines[0].id)
    amended(world, whole, lines=(line,))
    world.work()
    after = world.look(whole)
    assert states(after) == ["checked"]
    (old,), (new,) = whole.proofs, after.proofs
    assert (new.number, new.pieces, new.signed_at, new.judged_at) == (2, 13, None, None)
    assert new.digest == old.digest


def test_a_note_does_not_touch_approvals(world: World):
    whole = world.approved()
    after = amended(world, whole, note="ring twice", needed_by=date(2026, 6, 1))
    assert states(after) == ["approved"]
    assert after.proofs == whole.proofs


def test_another_model_starts_its_carvings_afresh(world: World):
    other = replace(bench(), key="fernhollow-chair", name="Fernhollow chair")
    shop.save_model(world.ctx, world.maker, other, {}, 0)
    whole = world.upload(world.place())
    line = LineContent("fernhollow-chair", 12, ("back-wide",), id=whole.lines[0].id)
    assert states(amended(world, whole, lines=(line,))) == ["no-art"]


def test_nothing_is_amended_once_released(world: World):
    whole = world.released()
    with pytest.raises(ConflictError, match="released"):
        amended(world, whole, note="wait")


def test_cancelling_needs_a_reason_and_is_final(world: World):
    whole = world.submitted()
    client, order = world.client(whole.order.id), whole.order
    with pytest.raises(InvalidError):
        ordering.cancel_order(world.ctx, client, order.id, order.revision, "  ")
    after = ordering.cancel_order(world.ctx, client, order.id, order.revision, "the pavilion burnt down")
    assert (after.order.state, after.order.reason) == (OrderState.CANCELLED, "the pavilion burnt down")
    with pytest.raises(ConflictError):
        ordering.submit_order(world.ctx, client, order.id, after.order.revision)
    upload = Upload(b"new", "new.svg", carving_ids=(only(after).id,))
    with pytest.raises(ConflictError):
        artworks.upload_artwork(world.ctx, client, order.id, upload)


def test_a_client_cannot_cancel_what_is_at_the_bench(world: World):
    whole = world.released()
    order = whole.order
    with pytest.raises(ConflictError, match="released"):
        ordering.cancel_order(world.ctx, world.client(order.id), order.id, order.revision, "sorry")
    after = ordering.cancel_order(world.ctx, world.maker, order.id, order.revision, "agreed by telephone")
    assert after.order.state is OrderState.CANCELLED


def test_ordering_again_takes_art_and_places_along_and_checks_again(world: World):
    whole = world.released(("back-wide", "back-left"))
    again = ordering.reorder(world.ctx, world.client(whole.order.id), whole.order.id).whole
    assert again.order.copied_from == whole.order.id
    assert again.order.state is OrderState.DRAFT
    assert set(states(again)) == {"checking"}
    assert not {c.id for c in again.carvings} & {c.id for c in whole.carvings}
    assert [c.placement for c in again.carvings] == [c.placement for c in whole.carvings]
    world.work()
    again = world.look(again)
    assert sorted(p.digest for p in again.proofs) == sorted(p.digest for p in whole.proofs)
    assert all(p.signed_at is None and p.judged_at is None for p in again.proofs)


def test_ordering_again_under_other_settings_gives_another_proof(world: World):
    whole = world.released()
    settings = shop.get_settings(world.ctx, world.maker)
    own = replace(settings.workshop.allowances, unevenness=0.6)
    shop.save_workshop(
        world.ctx, world.maker, replace(content_of(settings), allowances=own), settings.workshop.revision
    )
    again = ordering.reorder(world.ctx, world.maker, whole.order.id).whole
    world.work()
    assert world.look(again).proofs[0].digest != whole.proofs[0].digest


def content_of(settings):
    from service.usecases.commands import WorkshopContent

    shop_now = settings.workshop
    return WorkshopContent(shop_now.name, shop_now.allowances, shop_now.usual_bit, shop_now.retention_days)


def test_unread_art_is_read_in_the_new_order_too(world: World):
    whole = world.place()
    upload = Upload(b"art", "art.svg", carving_ids=(only(whole).id,))
    artworks.upload_artwork(world.ctx, world.client(whole.order.id), whole.order.id, upload)
    again = ordering.reorder(world.ctx, world.maker, whole.order.id).whole
    assert states(again) == ["reading"]
    world.work()
    assert states(world.look(again)) == ["checked"]


def test_a_retired_model_is_not_ordered_again(world: World):
    whole = world.released()
    model = shop.get_model(world.ctx, world.maker, "longwalk-bench")
    shop.retire_model(world.ctx, world.maker, "longwalk-bench", True, model.revision)
    with pytest.raises(ConflictError, match="no longer makes"):
        ordering.reorder(world.ctx, world.maker, whole.order.id)
    assert world.look(whole).order.state is OrderState.RELEASED


def test_the_same_key_places_one_order(world: World):
    once = IdempotencyKey("key-1", "a" * 64)
    first = ordering.place_order(world.ctx, world.visitor, content(), once)
    second = ordering.place_order(world.ctx, world.visitor, content(), once)
    assert second.whole.order.id == first.whole.order.id
    assert len(looking.list_orders(world.ctx, world.maker).items) == 1


def test_a_repeated_call_gives_the_same_link(world: World):
    """The secret is kept nowhere: it is made again of the key and of what is kept; browsers it let in stay in."""
    once, now = IdempotencyKey("key-1", "a" * 64), world.clock.now()
    first = ordering.place_order(world.ctx, world.visitor, content(), once)
    opened = signing_in.open_link(world.ctx, AtDoor("192.0.2.7"), first.link_token, None)
    second = ordering.place_order(world.ctx, world.visitor, content(), once)
    order_id = first.whole.order.id
    assert len(people.list_client_links(world.ctx, world.maker, order_id)) == 1
    with world.database.reading() as connection:
        assert second.link_token == first.link_token
        assert find_link(connection, first.link_token, now).order_id == order_id
        assert find_client_session(connection, opened.secret, now).grants[0].order_id == order_id


def test_a_repeated_call_revives_no_revoked_link(world: World):
    once = IdempotencyKey("key-1", "a" * 64)
    first = ordering.place_order(world.ctx, world.visitor, content(), once)
    people.revoke_client_links(world.ctx, world.maker, first.whole.order.id)
    assert ordering.place_order(world.ctx, world.visitor, content(), once).link_token == ""


KEY = "5f1c7f8e-3d6d-4d2b-9a55-6f1b0e2d7c11"


def test_a_key_is_good_for_one_request_of_one_person_for_a_day(world: World):
    once = IdempotencyKey(KEY, "a" * 64)
    ordering.place_order(world.ctx, world.visitor, content(), once)
    with pytest.raises(ConflictError, match="another request"):
        ordering.place_order(world.ctx, world.visitor, content(), IdempotencyKey(KEY, "b" * 64))
    someone = replace(world.visitor, key="visit-2")
    ordering.place_order(world.ctx, someone, content(), once)
    nobody = replace(world.visitor, key="")
    ordering.place_order(world.ctx, nobody, content(), once)
    # a phone that has left the house meanwhile
    ordering.place_order(world.ctx, replace(nobody, address="198.51.100.1"), content(), once)
    with pytest.raises(ConflictError, match="another request"):
        ordering.place_order(world.ctx, nobody, content(), IdempotencyKey(KEY, "b" * 64))
    assert len(looking.list_orders(world.ctx, world.maker).items) == 3
    world.clock.pass_by(hours=25)
    ordering.place_order(world.ctx, world.visitor, content(), IdempotencyKey(KEY, "b" * 64))
    with world.database.reading() as connection:
        assert len(connection.execute(select(once_answers)).all()) == 1  # the old ones are gone


def test_a_failed_request_leaves_its_key_free(world: World):
    once = IdempotencyKey("key-1", "a" * 64)
    with pytest.raises(InvalidError):
        ordering.place_order(world.ctx, world.visitor, replace(content(), note="\x00"), once)
    assert ordering.place_order(world.ctx, world.visitor, content(), once).whole.order.number == 1


@pytest.mark.parametrize("key", ["", "x" * 256, "a\nb"])
def test_keys_have_a_shape(world: World, key):
    with pytest.raises(InvalidError):
        ordering.place_order(world.ctx, world.visitor, content(), IdempotencyKey(key, "a" * 64))


def test_another_workshop_and_another_client_find_nothing(world: World):
    whole = world.submitted()
    other = world.place()
    order = whole.order
    for actor in (world.stranger, world.client(other.order.id), world.visitor):
        for attempt in (
            lambda actor=actor: looking.get_order(world.ctx, actor, order.id),
            lambda actor=actor: looking.get_activity(world.ctx, actor, order.id),
            lambda actor=actor: amended(world, whole, actor, note="mine now"),
            lambda actor=actor: ordering.cancel_order(world.ctx, actor, order.id, order.revision, "ha"),
        ):
            with pytest.raises(NotFoundError):
                attempt()
    assert world.look(whole) == whole
    assert shown(whole)
    assert only(whole).state is CarvingState.CHECKED
