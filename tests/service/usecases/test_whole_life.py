"""The whole life of an order, with the real engine, a real database and an archive verified offline."""

from __future__ import annotations

import hashlib

import pytest

from artwork.cut import Cut
from artwork.digest import digest as digest_of
from artwork.intake.values import Wishes
from artwork.outline_file import unpack
from service.batches.verify import verify
from service.orders.errors import ConflictError, NotFoundError
from service.orders.states import CarvingState, OrderState
from service.usecases import (
    approving,
    artworks,
    choosing,
    cutting,
    looking,
    privacy_and_audit,
    producing,
    versions,
)
from service.usecases.commands import Trial
from service.usecases.drawing import cut_of

from .world import RING, World, only, shown, states

THIN = RING % b"0.8"


def test_an_order_goes_from_draft_to_done(real_world: World, tmp_path):
    world = real_world
    whole = world.released(("back-wide", "back-left"))
    assert states(whole) == ["released", "released"]
    order = whole.order
    batch = producing.take_batch(world.ctx, world.helper, (order.id,))
    world.work()
    batch = producing.get_batch(world.ctx, world.helper, batch.id)
    assert batch.state == "ready", batch.message
    archive = tmp_path / "batch.zip"
    archive.write_bytes(world.blobs.get(batch.archive or ""))
    verdict = verify(archive)
    assert verdict.sound, verdict.problems
    whole = producing.start_production(world.ctx, world.helper, order.id, order.revision)
    whole = producing.finish_production(world.ctx, world.helper, order.id, whole.order.revision)
    assert whole.order.state is OrderState.DONE
    assert privacy_and_audit.verify_record(world.ctx, world.maker) is None
    record = looking.decisions_by_order_ids(world.ctx, world.maker, [order.id])[0]
    kinds = [entry.kind.value for entry in record if entry.kind.value != "waiver"]
    twice = ["offer", "sign-off", "feasibility", "release"]
    assert kinds == [
        "submission",
        *[kind for kind in twice for _ in whole.carvings],
        "production",
        "production",
    ]


def test_a_proof_names_exactly_what_will_be_cut(real_world: World):
    world = real_world
    whole = world.upload(world.place())
    (proof,) = whole.proofs
    at, placement = cut_of(proof)
    cut = Cut(unpack(world.blobs.get(proof.outline)), at.slat, placement, at.bit, at.allowances)
    assert digest_of(cut) == proof.digest
    assert hashlib.sha256(world.blobs.get(proof.digest)).hexdigest() == proof.digest
    assert world.blobs.get(proof.picture).startswith(b"\x89PNG")
    assert proof.check["verdict"] == proof.verdict


def test_thin_art_is_stopped_cured_and_then_goes_on(real_world: World):
    world = real_world
    whole = world.submitted(data=THIN)
    (proof,) = whole.proofs
    assert proof.verdict == "will-not-carve"
    client = world.client(whole.order.id)
    with pytest.raises(ConflictError, match="will"):
        approving.offer_proofs(world.ctx, client, whole.order.id, shown(whole))
    cures = versions.list_cures(world.ctx, client, only(whole).id)
    assert cures
    every = versions.list_order_cures(world.ctx, client, whole.order.id, [only(whole).id])
    assert every == {only(whole).id: cures}
    with pytest.raises(NotFoundError):
        versions.list_order_cures(world.ctx, client, whole.order.id, ["nothing-of-this-order"])
    carving = only(whole)
    choosing.apply_cure(world.ctx, client, carving.id, carving.revision, cures[0].code)
    world.work()
    whole = world.look(whole)
    assert whole.proofs[0].verdict != "will-not-carve"
    assert whole.proofs[0].number == 2


def test_a_trial_says_what_the_proof_will_say(real_world: World):
    world = real_world
    whole = world.upload(world.place())
    (proof,) = whole.proofs
    judged = cutting.try_cut(world.ctx, world.client(whole.order.id), only(whole).id, Trial(), picture=True)
    assert judged.digest == proof.digest
    assert judged.check == proof.check
    assert hashlib.sha256(judged.picture or b"").hexdigest() == proof.picture


@pytest.mark.parametrize("data", [b"\x00\x01 no picture", b"<svg", b"%PDF-1.7"])
def test_what_cannot_be_read_is_refused_with_a_cure(real_world: World, data):
    world = real_world
    whole = world.upload(world.place(), data, "logo.bin")
    carving = only(whole)
    assert carving.state is CarvingState.REFUSED
    assert carving.trouble is not None
    assert carving.trouble.cure
    assert whole.readings[0].trouble == carving.trouble


def test_drawings_of_a_proof_are_the_same_every_time(real_world: World):
    world = real_world
    whole = world.upload(world.place())
    (proof,) = whole.proofs
    for form, kind in (("svg", "image/svg+xml"), ("dxf", "image/vnd.dxf"), ("pdf", "application/pdf")):
        first = looking.proof_drawing(world.ctx, world.maker, proof.id, form)
        world.blobs.kept = {k: v for k, v in world.blobs.kept.items() if v != first[0]}
        assert looking.proof_drawing(world.ctx, world.maker, proof.id, form) == first
        assert first[1] == kind


def test_lighter_and_darker_readings_keep_the_place(real_world: World):
    world = real_world
    whole = world.upload(world.place())
    carving = only(whole)
    artworks.read_again(world.ctx, world.maker, carving.id, carving.revision, Wishes(invert=True))
    world.work()
    again = only(world.look(whole))
    assert again.placement == carving.placement
    assert again.reading_id != carving.reading_id
