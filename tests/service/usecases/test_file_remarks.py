"""What a file lost in reading is accepted by its name before signing, whichever way somebody comes to the signature."""

from __future__ import annotations

import pytest

from service.orders import file_remarks
from service.orders.errors import ConflictError, InvalidError
from service.orders.proofs import Proof
from service.orders.record import EntryKind
from service.usecases import approving, looking, marking, privacy_and_audit
from service.usecases.answers import OrderAggregate
from tests.service.usecases.test_suites import WIDE, laid_across, only, seen
from tests.service.usecases.world import CREST, World, one, shown

TEXT = b'<text x="5" y="58">Quillfern</text></svg>'
LOST = CREST.replace(b"</svg>", TEXT)
"""The crest with a line of text whose font is not in the file."""
LOST_TWICE = CREST.replace(
    b"</svg>", b'<filter id="f"/><g filter="url(#f)"><path d="M3 3h9v9h-9z"/></g>' + TEXT
)
NAME = "file-text-left-out-1"


def offered(world: World, data: bytes) -> OrderAggregate:
    return world.offered(data=data)


def entries(world: World, whole: OrderAggregate, kind: EntryKind) -> list[dict]:
    found = looking.decisions_by_order_ids(world.ctx, world.maker, [whole.order.id])[0]
    return [dict(entry.facts) for entry in found if entry.kind is kind]


def test_nobody_signs_for_a_loss_that_was_not_accepted_by_name(real_world: World):
    world, whole = real_world, offered(real_world, LOST_TWICE)
    (proof,) = whole.proofs
    effects = "file-effects-left-out-1"
    assert proof.remarks == (effects, NAME)
    client, order = world.client(whole.order.id), whole.order.id
    with pytest.raises(ConflictError, match=NAME) as refused:
        approving.sign_off(world.ctx, client, order, shown(whole))
    assert refused.value.code == "remarks-open"
    with pytest.raises(InvalidError, match=NAME):
        approving.waive(world.ctx, client, one(proof), ("text-left-out",))
    with pytest.raises(InvalidError, match=NAME):
        approving.waive(world.ctx, client, one(proof), ("tip-1",))
    approving.waive(world.ctx, client, one(proof), (effects,))
    with pytest.raises(ConflictError, match=f"first: {NAME}"):
        approving.sign_off(world.ctx, client, order, shown(whole))
    assert entries(world, whole, EntryKind.SIGN_OFF) == []


def test_the_record_says_in_words_what_was_accepted(real_world: World):
    world, whole = real_world, offered(real_world, LOST)
    world.sign(whole)
    (accepted,) = entries(world, whole, EntryKind.WAIVER)
    assert accepted["remarks"] == [NAME]
    assert list(accepted["file_remarks"]) == [NAME]
    assert "text that is still text" in accepted["file_remarks"][NAME]
    (signed,) = entries(world, whole, EntryKind.SIGN_OFF)
    assert signed["waived"] == [NAME]
    assert privacy_and_audit.verify_record(world.ctx, world.maker) is None


def test_a_digest_says_what_is_cut_and_nothing_of_the_file(real_world: World):
    """So that proofs made before remarks of the file were accepted stay what they were."""
    whole, lost = (offered(real_world, data) for data in (CREST, LOST))
    assert lost.proofs[0].digest == whole.proofs[0].digest
    assert (whole.proofs[0].remarks, lost.proofs[0].remarks) == ((), (NAME,))
    old = {name: value for name, value in whole.proofs[0].facts.items() if name != file_remarks.FACT}
    assert file_remarks.among(old, [NAME]) == {}


def test_a_new_reading_without_the_loss_asks_for_nothing(real_world: World):
    world = real_world
    whole = world.upload(world.upload(world.place(), LOST), CREST)
    assert whole.proofs[0].remarks == ()


def test_every_slice_of_a_large_picture_carries_what_its_file_lost(real_world: World):
    world = real_world
    whole = laid_across(world, WIDE.replace(b"</svg>", TEXT))
    found = only(world, whole)
    proofs: list[Proof] = [proof for proof in found.proofs if proof is not None]
    assert len(proofs) > 1
    assert all(NAME in proof.remarks for proof in proofs)
    client, order = world.client(whole.order.id), whole.order.id
    approving.offer_proofs(world.ctx, world.maker, order, (), (seen(found),))
    kinds = {approving.kind_of(name) for proof in proofs for name in proof.remarks}
    others = tuple(kinds - {"file-text-left-out"})
    if others:
        approving.waive_together(world.ctx, client, seen(found), others, order)
    with pytest.raises(ConflictError, match=NAME):
        approving.sign_off(world.ctx, client, order, (), whole=(seen(found),))
    approving.waive_together(world.ctx, client, seen(found), ("file-text-left-out",), order)
    approving.sign_off(world.ctx, client, order, (), whole=(seen(found),))
    told = [each for each in entries(world, whole, EntryKind.WAIVER) if "file_remarks" in each]
    assert len(told) == len(proofs)


def test_a_mark_of_the_workshop_is_approved_with_what_its_file_lost(real_world: World):
    world = real_world
    draft = world.upload(world.place(("back-wide",), 1), LOST)
    mark = marking.propose_mark(world.ctx, world.maker, one(draft.proofs[0])).mark
    assert mark.remarks == (NAME,)
    marking.approve_mark(world.ctx, world.maker, mark.id, mark.digest, mark.picture)
    entry = privacy_and_audit.list_record(world.ctx, world.maker).items[0]
    assert NAME in entry.facts["file_remarks"]
