"""Decisions: each names the proof shown, is recorded, and is worth something for that proof only."""

from __future__ import annotations

from dataclasses import asdict, replace

import pytest

from service.orders.actors import Scope
from service.orders.errors import ConflictError, InvalidError, NotAllowedError, NotFoundError, StaleError
from service.orders.price_list import PriceEntry, PriceKind, Rounding
from service.orders.record import EntryKind
from service.usecases import approving, cutting, looking, ordering, pricing, privacy_and_audit, producing
from service.usecases.answers import OrderAggregate
from service.usecases.commands import Accepting

from .world import World, content, one, only, shown, states


def record(world: World, whole: OrderAggregate):
    return looking.decisions_by_order_ids(world.ctx, world.maker, [whole.order.id])[0]


def moved(world: World, whole: OrderAggregate, scale: float = 1.0, dx: float = 1.0) -> OrderAggregate:
    carving = only(world.look(whole))
    assert carving.placement is not None
    placement = replace(carving.placement, x=carving.placement.x + dx, scale=scale)
    cutting.place(world.ctx, world.maker, carving.id, carving.revision, placement)
    world.work()
    return world.look(whole)


def with_remarks(world: World) -> OrderAggregate:
    whole = moved(world, world.submitted(), scale=2.0)
    return approving.offer_proofs(world.ctx, world.maker, whole.order.id, shown(whole))


def test_both_approvals_in_either_order_release(world: World):
    whole = world.offered()
    whole = approving.find_feasible(world.ctx, world.maker, whole.order.id, shown(whole))
    assert states(whole) == ["feasible"]
    whole = world.sign(whole)
    assert states(whole) == ["approved"]
    whole = world.sign(world.offered())
    assert states(whole) == ["signed"]
    whole = approving.find_feasible(world.ctx, world.maker, whole.order.id, shown(whole))
    order = whole.order
    whole = producing.release(world.ctx, world.maker, order.id, order.revision, shown(whole))
    assert (whole.order.state, states(whole)) == ("released", ["released"])


def test_what_was_decided_by_whom_from_where_about_what_is_on_record(world: World):
    whole = world.sign(world.offered())
    entry = record(world, whole)[-1]
    (proof,) = whole.proofs
    assert entry.kind is EntryKind.SIGN_OFF
    assert (entry.digest, entry.picture, entry.proof_id) == (proof.digest, proof.picture, proof.id)
    assert (entry.actor, entry.at) == ("client:link-1", world.clock.now())
    assert entry.particulars is not None
    assert entry.particulars.address == "192.0.2.7"
    whole = approving.find_feasible(world.ctx, world.maker, whole.order.id, shown(whole), "tight at the tips")
    entry = record(world, whole)[-1]
    assert entry.particulars is not None
    assert (entry.particulars.name, entry.particulars.words) == ("Tamsin Oxbarrow", "tight at the tips")
    assert privacy_and_audit.verify_record(world.ctx, world.maker) is None


def test_clients_are_not_told_from_where_others_decided(world: World):
    whole = world.approved()
    entries = looking.decisions_by_order_ids(world.ctx, world.client(whole.order.id), [whole.order.id])[0]
    assert len(entries) >= 4
    for entry in entries:
        assert entry.particulars is not None
        assert (entry.particulars.address, entry.particulars.name, entry.particulars.salt) == ("", "", "")


def test_a_double_click_decides_once(world: World):
    whole = world.offered()
    for decide in (
        lambda: approving.offer_proofs(world.ctx, world.maker, whole.order.id, shown(whole)),
        lambda: approving.sign_off(world.ctx, world.client(whole.order.id), whole.order.id, shown(whole)),
        lambda: approving.find_feasible(world.ctx, world.maker, whole.order.id, shown(whole)),
    ):
        after = decide()
        count = len(record(world, whole))
        assert decide() == after
        assert len(record(world, whole)) == count


@pytest.mark.parametrize("what", ["digest", "picture"])
def test_another_proof_than_the_one_shown_is_not_signed(world: World, what):
    whole = world.offered()
    wrong = replace(one(whole.proofs[0]), **{what: "0" * 64})
    client = world.client(whole.order.id)
    with pytest.raises(ConflictError, match="no longer the current"):
        approving.sign_off(world.ctx, client, whole.order.id, (wrong,))
    assert states(world.look(whole)) == ["offered"]


def test_any_change_is_a_new_proof_without_approvals(world: World):
    whole = world.approved()
    after = moved(world, whole)
    assert states(after) == ["checked"]
    (old,), (new,) = whole.proofs, after.proofs
    assert new.digest != old.digest
    assert (new.number, new.signed_at, new.judged_at, new.waived) == (2, None, None, ())
    with pytest.raises(ConflictError, match="no longer the current"):
        approving.sign_off(world.ctx, world.client(whole.order.id), whole.order.id, shown(whole))
    back = moved(world, whole, dx=-1.0)
    assert back.proofs[0].digest == old.digest
    assert (back.proofs[0].number, back.proofs[0].signed_at) == (3, None)
    assert states(back) == ["checked"]
    history = looking.proofs_by_carving_ids(world.ctx, world.maker, [only(back).id])[0]
    assert [proof.number for proof in history] == [3, 2, 1]


def test_remarks_are_accepted_by_name_before_signing(world: World):
    whole = with_remarks(world)
    (proof,) = whole.proofs
    assert proof.remarks == ("line-1", "tip-1")
    client, order_id = world.client(whole.order.id), whole.order.id
    with pytest.raises(ConflictError, match="line-1, tip-1"):
        approving.sign_off(world.ctx, client, order_id, shown(whole))
    with pytest.raises(InvalidError, match="line-1, tip-1"):
        approving.waive(world.ctx, client, one(proof), ("off-slat-1",))
    with pytest.raises(InvalidError):
        approving.waive(world.ctx, client, one(proof), ())
    after = approving.waive(world.ctx, client, one(proof), ("tip-1",))
    assert after.proofs[0].waived == ("tip-1",)
    with pytest.raises(ConflictError, match="remarks first: line-1"):
        approving.sign_off(world.ctx, client, order_id, shown(whole))
    approving.waive(world.ctx, client, one(proof), ("line-1", "tip-1"))
    after = approving.sign_off(world.ctx, client, order_id, shown(whole))
    assert states(after) == ["signed"]
    waivers = [entry.facts["remarks"] for entry in record(world, whole) if entry.kind is EntryKind.WAIVER]
    assert waivers == [["tip-1"], ["line-1"]]


def test_the_maker_cannot_accept_remarks_for_the_client(world: World):
    whole = with_remarks(world)
    with pytest.raises(NotAllowedError):
        approving.waive(world.ctx, world.maker, one(whole.proofs[0]), ("tip-1",))


def test_what_will_not_carve_is_neither_offered_nor_waived_nor_approved(world: World):
    whole = moved(world, world.submitted(), scale=0.5)
    assert whole.proofs[0].verdict == "will-not-carve"
    with pytest.raises(ConflictError, match="will not carve"):
        approving.offer_proofs(world.ctx, world.client(whole.order.id), whole.order.id, shown(whole))
    with pytest.raises(ConflictError):
        approving.find_feasible(world.ctx, world.maker, whole.order.id, shown(whole))
    assert states(world.look(whole)) == ["checked"]


def test_a_change_is_asked_for_with_words_and_a_place(world: World):
    whole = world.approved()
    client = world.client(whole.order.id)
    with pytest.raises(InvalidError):
        approving.ask_for_change(world.ctx, client, one(whole.proofs[0]), "")
    with pytest.raises(InvalidError):
        approving.ask_for_change(world.ctx, client, one(whole.proofs[0]), "x", (float("nan"), 0.0))
    after = approving.ask_for_change(world.ctx, client, one(whole.proofs[0]), "larger, please", (3, 4.5))
    assert states(after) == ["change-asked"]
    assert (after.proofs[0].signed_at, after.proofs[0].judged_at) == (None, None)
    entry = record(world, whole)[-1]
    assert entry.facts == {"place": [3.0, 4.5]}
    assert entry.particulars is not None
    assert entry.particulars.words == "larger, please"
    with pytest.raises(ConflictError, match="change that the client"):
        producing.release(world.ctx, world.maker, whole.order.id, after.order.revision, shown(after))


def test_a_rejected_proof_comes_back_only_through_the_client(world: World):
    whole = world.approved()
    with pytest.raises(InvalidError):
        approving.reject(world.ctx, world.maker, one(whole.proofs[0]), " ")
    after = approving.reject(world.ctx, world.maker, one(whole.proofs[0]), "the knot is just there")
    assert states(after) == ["rejected"]
    with pytest.raises(ConflictError):
        approving.find_feasible(world.ctx, world.maker, whole.order.id, shown(whole))
    with pytest.raises(ConflictError):
        approving.offer_proofs(world.ctx, world.client(whole.order.id), whole.order.id, shown(whole))
    again = approving.offer_proofs(world.ctx, world.maker, whole.order.id, shown(whole))
    assert states(again) == ["offered"]
    assert again.proofs[0].signed_at is None


def test_release_says_which_carving_lacks_what(world: World):
    whole = world.offered(("back-wide", "back-left"))
    wide, left = sorted(whole.proofs, key=lambda proof: proof.carving_id)
    client = world.client(whole.order.id)
    approving.sign_off(world.ctx, client, whole.order.id, (one(wide),))
    whole = approving.find_feasible(world.ctx, world.maker, whole.order.id, (one(left),))
    with pytest.raises(ConflictError) as caught:
        producing.release(world.ctx, world.maker, whole.order.id, whole.order.revision, shown(whole))
    assert caught.value.code == "not-approved"
    assert "lacks the client's sign-off" in str(caught.value)
    assert "lacks the maker's judgement" in str(caught.value)


def test_release_needs_every_current_proof_named(world: World):
    whole = world.approved(("back-wide", "back-left"))
    order = whole.order
    for wrong in (shown(whole)[:1], shown(whole) * 2, ()):
        with pytest.raises(ConflictError, match="every carving"):
            producing.release(world.ctx, world.maker, order.id, order.revision, wrong)
    fake = (shown(whole)[0], replace(shown(whole)[1], digest="f" * 64))
    with pytest.raises(ConflictError, match="no longer the current"):
        producing.release(world.ctx, world.maker, order.id, order.revision, fake)
    assert set(states(world.look(whole))) == {"approved"}


def test_only_the_right_people_decide(world: World):
    whole = world.approved()
    order = whole.order
    client = world.client(order.id)
    unscoped = world.site(*(set(Scope) - {Scope.ORDERS_RELEASE}))
    with pytest.raises(NotAllowedError, match=r"orders\.release"):
        producing.release(world.ctx, unscoped, order.id, order.revision, shown(whole))
    for actor in (client, world.helper, unscoped):
        with pytest.raises(NotAllowedError):
            producing.release(world.ctx, actor, order.id, order.revision, shown(whole))
        with pytest.raises(NotAllowedError):
            approving.reject(world.ctx, actor, one(whole.proofs[0]), "no")
    site = world.site(Scope.ORDERS_READ, Scope.ORDERS_RELEASE)
    with pytest.raises(NotAllowedError):
        approving.reject(world.ctx, site, one(whole.proofs[0]), "no")
    after = producing.release(world.ctx, site, order.id, order.revision, shown(whole))
    assert states(after) == ["released"]
    whole = world.offered()
    with pytest.raises(NotAllowedError):
        approving.sign_off(world.ctx, world.maker, whole.order.id, shown(whole))
    with pytest.raises(NotAllowedError, match=r"orders\.sign"):
        approving.sign_off(world.ctx, world.site(Scope.ORDERS_WRITE), whole.order.id, shown(whole))
    after = approving.sign_off(world.ctx, world.site(Scope.ORDERS_SIGN), whole.order.id, shown(whole))
    assert states(after) == ["signed"]


def test_strangers_decide_nothing_and_learn_nothing(world: World):
    whole = world.offered()
    other = world.offered()
    proof = whole.proofs[0]
    for actor in (world.stranger, world.client(other.order.id), world.visitor):
        for attempt in (
            lambda actor=actor: approving.sign_off(world.ctx, actor, whole.order.id, shown(whole)),
            lambda actor=actor: approving.waive(world.ctx, actor, one(proof), ("x",)),
            lambda actor=actor: approving.reject(world.ctx, actor, one(proof), "no"),
            lambda actor=actor: looking.proof_picture(world.ctx, actor, proof.id),
            lambda actor=actor: looking.artwork_file(world.ctx, actor, whole.artworks[0].id),
            lambda actor=actor: looking.proof_drawing(world.ctx, actor, proof.id, "svg"),
        ):
            with pytest.raises(NotFoundError):
                attempt()
    mixed = (one(other.proofs[0]), one(proof))
    with pytest.raises(NotFoundError):
        approving.sign_off(world.ctx, world.client(other.order.id), other.order.id, mixed)
    assert states(world.look(other)) == ["offered"]


def signing(world: World, whole: OrderAggregate, **how) -> OrderAggregate:
    """The client's one act: draft, offers, remarks and signature."""
    how = {"draft_revision": whole.order.revision} | how
    return approving.sign_off(world.ctx, world.client(whole.order.id), whole.order.id, shown(whole), **how)


def everything(world: World, whole: OrderAggregate) -> tuple[object, ...]:
    """All that a signature may touch: order, record, mail."""
    with world.database.reading() as connection:
        letters = connection.exec_driver_sql("SELECT count(*) FROM messages").scalar_one()
    return world.look(whole), record(world, whole), letters


def test_a_draft_is_sent_offered_accepted_and_signed_in_one_act(world: World):
    draft = moved(world, world.upload(world.place()), scale=2.0)
    (proof,) = draft.proofs
    assert proof.remarks
    accepting = Accepting({proof.carving_id: proof.remarks})
    whole = signing(world, draft, accepting=accepting)
    assert (whole.order.state, states(whole)) == ("submitted", ["signed"])
    kinds = [entry.kind for entry in record(world, whole)]
    assert kinds == [EntryKind.SUBMISSION, EntryKind.OFFER, EntryKind.WAIVER, EntryKind.SIGN_OFF]
    assert whole.proofs[0].waived == proof.remarks


@pytest.mark.parametrize("what", ["remarks", "proof", "revision", "price", "other remarks", "not complete"])
def test_a_refused_signature_leaves_nothing_behind(world: World, what: str):
    draft = moved(world, world.upload(world.place()), scale=2.0)
    (proof,) = draft.proofs
    accepting = Accepting({proof.carving_id: proof.remarks})
    if what == "price":
        prices = pricing.PricesContent(
            "USD", 2, Rounding.HALF_EVEN, (PriceEntry("a", PriceKind.ORDER_SETUP, 100, "", "set-up"),)
        )
        pricing.save_prices(world.ctx, world.maker, prices, 0)
    if what == "not complete":
        client = world.client(draft.order.id)
        lines = (replace(content().lines[0], id=draft.lines[0].id),)
        without = replace(content(), lines=lines, rights_granted=False)
        ordering.amend_order(world.ctx, client, draft.order.id, draft.order.revision, asdict(without))
        draft = world.look(draft)
    how = {
        "remarks": {},
        "proof": {"accepting": accepting},
        "revision": {"accepting": accepting, "draft_revision": 99},
        "price": {"accepting": accepting, "quote": "0" * 64},
        "other remarks": {"accepting": Accepting({"not-signed-here": ("tip-1",)})},
        "not complete": {"accepting": accepting},
    }[what]
    before = everything(world, draft)
    seen = replace(draft, proofs=(replace(proof, picture="0" * 64),)) if what == "proof" else draft
    with pytest.raises((ConflictError, StaleError, InvalidError)):
        signing(world, seen, **how)
    assert everything(world, draft) == before
