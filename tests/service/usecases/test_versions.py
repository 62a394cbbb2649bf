"""Versions that carve: worked out once, chosen, taken back, forgotten with the client."""

from __future__ import annotations

from dataclasses import replace

import pytest
from prometheus_client import REGISTRY

from artwork.cut import Placement
from service.access import rate_limit
from service.orders.errors import ConflictError, NotAllowedError, NotFoundError, StaleError, TooManyError
from service.orders.order import Carving
from service.orders.record import EntryKind
from service.orders.versions import VersionKind, VersionsState
from service.orders.work import JobKind, JobState
from service.usecases import (
    artworks,
    choosing,
    cutting,
    jobs,
    looking,
    privacy_and_audit,
    retrying,
    version_work,
    versions,
)
from service.usecases.answers import OrderAggregate
from service.usecases.commands import Upload
from service.usecases.computing_versions import FoundRepairs
from service.work.processes import ComputeFaultError
from tests.service.usecases.world import World, only, refusal

TINY = 0.5


def stopped(world: World, scale: float = TINY) -> tuple[OrderAggregate, Carving]:
    """An order whose one carving will not carve at that size."""
    whole = world.upload(world.place())
    cutting.place(world.ctx, world.maker, only(whole).id, only(whole).revision, Placement(0.0, 300.0, scale))
    world.work()
    whole = world.look(whole)
    return whole, only(whole)


def entries(world: World, whole: OrderAggregate) -> list:
    found = looking.decisions_by_order_ids(world.ctx, world.maker, [whole.order.id])[0]
    return [entry for entry in found if entry.kind is EntryKind.VERSION]


def test_what_stops_is_offered_versions_without_anybody_asking(world: World):
    whole, carving = stopped(world)
    offered = versions.list_versions(world.ctx, world.client(whole.order.id), carving.id)
    assert offered.state is VersionsState.READY
    assert [each.code for each in offered.versions] == ["as-placed"]
    assert [cure.code for cure in offered.others] == ["resize-1", "thicken-1"]
    assert offered.versions[0].outline != carving.outline
    assert versions.list_order_versions(world.ctx, world.maker, whole.order.id, [carving.id]) == (
        replace(offered),
    )


def test_they_are_worked_out_once_for_the_same_cut_whoever_asks(world: World):
    one, first = stopped(world)
    asked = world.compute.calls.count("find_first_repair")
    failed = REGISTRY.get_sample_value("slatproof_failed_proposals_total", {"proposal": "carve-background"})
    assert failed is not None and failed >= 1  # what could not be worked out is counted, and left out
    another, second = stopped(world)  # another client's order, the same drawing
    heard = [looking.get_activity(world.ctx, world.maker, whole.order.id) for whole in (one, another)]
    assert heard[0] - 1 == heard[1], (
        "who looks learns that they are there: of the first and of all, or of known ones"
    )
    assert first.id != second.id and asked == 1
    assert world.compute.calls.count("find_first_repair") == asked
    assert versions.list_versions(world.ctx, world.maker, second.id).state is VersionsState.READY
    cutting.place(world.ctx, world.maker, second.id, second.revision, Placement(0.0, 300.0, TINY / 2))
    world.work()
    assert world.compute.calls.count("find_first_repair") == asked + 1


def test_a_first_version_is_offered_while_the_others_are_being_worked_out(world: World, monkeypatch):
    whole = world.upload(world.place())
    seen, find = [], world.compute.find_cures

    def looking_meanwhile(*asked):
        seen.append(versions.list_versions(world.ctx, world.maker, only(whole).id))
        return find(*asked)

    monkeypatch.setattr(world.compute, "find_cures", looking_meanwhile)
    cutting.place(world.ctx, world.maker, only(whole).id, only(whole).revision, Placement(0.0, 300.0, TINY))
    world.work()
    (meanwhile,) = seen
    assert meanwhile.state is VersionsState.WORKING
    assert [each.code for each in meanwhile.versions] == ["as-placed"]
    assert versions.list_versions(world.ctx, world.maker, only(whole).id).versions == meanwhile.versions


def test_no_version_is_drawn_twice_however_often_what_there_is_is_kept(world: World, monkeypatch):
    drawn, draw = [], world.compute.draw_versions

    def noting(sent, pairs):
        drawn.extend(laid.outline for laid, _before in pairs)
        return draw(sent, pairs)

    monkeypatch.setattr(world.compute, "draw_versions", noting)
    _whole, carving = stopped(world)
    offered = versions.list_versions(world.ctx, world.maker, carving.id)
    named = [world.blobs.get(each.outline) for each in (*offered.versions, *offered.sturdier)]
    assert len(named) > len(offered.versions) > 0
    assert sorted(drawn) == sorted(named)


def test_what_carves_is_offered_nothing_and_costs_nothing(world: World):
    whole = world.upload(world.place())
    offered = versions.list_versions(world.ctx, world.maker, only(whole).id)
    assert (offered.state, offered.versions) == (VersionsState.NOT_NEEDED, ())
    assert "find_first_repair" not in world.compute.calls and "find_cures" not in world.compute.calls


def test_the_chosen_version_is_carved_and_the_record_says_who_chose_what(world: World):
    whole, carving = stopped(world)
    client = world.client(whole.order.id)
    with pytest.raises(StaleError):
        choosing.choose_version(world.ctx, client, carving.id, carving.revision - 1, "as-placed")
    with pytest.raises(ConflictError, match="no longer on offer"):
        choosing.choose_version(world.ctx, client, carving.id, carving.revision, "stacked")
    with pytest.raises(NotAllowedError):
        choosing.choose_version(world.ctx, world.helper, carving.id, carving.revision, "as-placed")
    choosing.choose_version(world.ctx, client, carving.id, carving.revision, "as-placed")
    world.work()
    after = world.look(whole)
    now = only(after)
    assert world.blobs.get(now.outline).endswith(b" repaired")
    assert after.proofs[0].verdict == "carves" and after.proofs[0].outline == now.outline
    assert (now.version.kind, now.version.chosen_by) == (VersionKind.AS_PLACED, client.role)
    assert now.artwork_id == carving.artwork_id and now.reading_id == carving.reading_id
    (entry,) = entries(world, whole)
    assert entry.actor == client.identity and entry.carving_id == carving.id
    assert entry.facts["kind"] == "as-placed" and entry.facts["likeness"] == 0.97
    assert entry.facts["changes"] == [{"kind": "thickened", "amount": 0.4, "unit": "mm", "count": 3}]
    assert (entry.facts["outline"], entry.facts["instead_of"]) == (now.outline, carving.outline)


def test_a_sturdier_one_is_offered_beside_a_version_and_chosen_like_it(world: World):
    whole, carving = stopped(world)
    client = world.client(whole.order.id)
    offered = versions.list_versions(world.ctx, client, carving.id)
    (least,), (sturdier,) = offered.versions, offered.sturdier
    assert (sturdier.code, sturdier.sturdier_of, least.sturdier_of) == (
        f"{least.code}-sturdier",
        least.code,
        None,
    )
    assert sturdier.outline != least.outline
    assert {sturdier.outline, sturdier.picture, sturdier.difference} <= privacy_and_audit.wanted_blobs(
        world.ctx
    )
    for shown in ("carved", "changed"):
        found = versions.version_picture(world.ctx, client, carving.id, sturdier.code, shown)
        assert found.digest in {sturdier.picture, sturdier.difference}
    choosing.choose_version(world.ctx, client, carving.id, carving.revision, sturdier.code)
    world.work()
    after = world.look(whole)
    assert world.blobs.get(only(after).outline).endswith(b" repaired sturdier")
    assert after.proofs[0].outline == only(after).outline
    assert only(after).version.sentence == sturdier.sentence and only(after).version.chosen_by == client.role
    (entry,) = entries(world, whole)
    assert entry.actor == client.identity and entry.facts["sentence"] == sturdier.sentence
    assert entry.facts["outline"] == sturdier.outline


def test_the_first_version_does_not_wait_for_a_sturdier_one_nor_is_lost_with_it(world: World, monkeypatch):
    seen = []

    def looking_meanwhile(*_asked):
        seen.append(versions.list_versions(world.ctx, world.maker, only(whole).id))
        return [], ["GEOSException: side location conflict"]

    whole = world.upload(world.place())
    monkeypatch.setattr(world.compute, "find_sturdier", looking_meanwhile)
    cutting.place(world.ctx, world.maker, only(whole).id, only(whole).revision, Placement(0.0, 300.0, TINY))
    world.work()
    (meanwhile,) = seen
    assert meanwhile.state is VersionsState.WORKING
    assert ([each.code for each in meanwhile.versions], meanwhile.sturdier) == (["as-placed"], ())
    offered = versions.list_versions(world.ctx, world.maker, only(whole).id)
    assert (offered.state, offered.versions, offered.sturdier) == (
        VersionsState.READY,
        meanwhile.versions,
        (),
    )
    failed = REGISTRY.get_sample_value("slatproof_failed_proposals_total", {"proposal": "sturdier"})
    assert failed is not None and failed >= 1


def test_the_other_versions_do_not_wait_for_the_sturdier_ones(world: World, monkeypatch):
    seen, find = [], world.compute.find_sturdier

    def others(laid, *more):
        (first,) = world.compute.find_first_repair(laid, *more).versions
        outline = laid.outline + b" turned"
        turned = replace(first, code="turned", kind=VersionKind.TURNED, outline=outline, cost=0.1)
        return FoundRepairs((turned,), None)

    def looking_meanwhile(*asked):
        seen.append(versions.list_versions(world.ctx, world.maker, only(whole).id))
        return find(*asked)

    whole = world.upload(world.place())
    monkeypatch.setattr(world.compute, "find_other_repairs", others)
    monkeypatch.setattr(world.compute, "find_sturdier", looking_meanwhile)
    cutting.place(world.ctx, world.maker, only(whole).id, only(whole).revision, Placement(0.0, 300.0, TINY))
    world.work()
    (meanwhile,) = seen
    assert meanwhile.state is VersionsState.WORKING
    assert [each.code for each in meanwhile.versions] == ["turned", "as-placed"]
    offered = versions.list_versions(world.ctx, world.maker, only(whole).id)
    assert (offered.state, offered.versions) == (VersionsState.READY, meanwhile.versions)
    assert [each.sturdier_of for each in offered.sturdier] == ["turned", "as-placed"]


def test_what_is_much_larger_turned_is_shown_before_the_art_as_it_lies_is_tried(world: World, monkeypatch):
    seen, told, find = [], [], world.compute.find_first_repair

    def turned(laid, *more):
        (first,) = find(laid, *more).versions
        outline = laid.outline + b" turned"
        lying = replace(first, code="turned", kind=VersionKind.TURNED, outline=outline, cost=0.6)
        return FoundRepairs((lying,), None, seconds=0.5)

    def looking_meanwhile(*asked):
        seen.append(versions.list_versions(world.ctx, world.maker, only(whole).id))
        return find(*asked)

    def others(_laid, _bits, found, _seconds):
        told.append(found)
        return FoundRepairs((), None)

    whole = world.upload(world.place())
    monkeypatch.setattr(version_work, "much_larger_turned", lambda *_: True)
    monkeypatch.setattr(world.compute, "find_turned_repair", turned)
    monkeypatch.setattr(world.compute, "find_first_repair", looking_meanwhile)
    monkeypatch.setattr(world.compute, "find_other_repairs", others)
    cutting.place(world.ctx, world.maker, only(whole).id, only(whole).revision, Placement(0.0, 300.0, TINY))
    world.work()
    (meanwhile,) = seen
    assert (meanwhile.state, [each.code for each in meanwhile.versions]) == (
        VersionsState.WORKING,
        ["turned"],
    )
    offered = versions.list_versions(world.ctx, world.maker, only(whole).id)
    assert [each.code for each in offered.versions] == ["as-placed", "turned"]
    (found,) = told
    assert found.seconds == 0.5, "it is not tried once more, and what it took is not spent twice"


def test_what_was_sent_comes_back_as_it_lay(world: World):
    whole, carving = stopped(world)
    with pytest.raises(ConflictError, match="nothing to undo"):
        choosing.take_as_sent(world.ctx, world.maker, carving.id, carving.revision)
    choosing.choose_version(world.ctx, world.maker, carving.id, carving.revision, "as-placed")
    world.work()
    chosen = only(world.look(whole))
    cutting.place(world.ctx, world.maker, chosen.id, chosen.revision, Placement(5.0, 200.0, TINY))
    world.work()  # chosen once more, from another place: how it lay at first is still known
    chosen = only(world.look(whole))
    choosing.apply_cure(world.ctx, world.maker, chosen.id, chosen.revision, "resize-1")
    world.work()
    chosen = only(world.look(whole))
    choosing.take_as_sent(world.ctx, world.client(whole.order.id), chosen.id, chosen.revision)
    world.work()
    back = only(world.look(whole))
    for part in ("outline", "outline_note", "placement", "slat_key", "bit_key", "version"):
        assert getattr(back, part) == getattr(carving, part), part
    assert [entry.facts["kind"] for entry in entries(world, whole)] == ["as-placed", "resize", "as-sent"]


def test_a_chosen_version_goes_when_other_art_is_sent_and_comes_back_with_its_art(world: World):
    whole, carving = stopped(world)
    choosing.choose_version(world.ctx, world.maker, carving.id, carving.revision, "as-placed")
    world.work()
    good = only(world.look(whole))
    upload = Upload(b"another", "other.svg", "image/svg+xml", (carving.id,))
    artworks.upload_artwork(world.ctx, world.maker, whole.order.id, upload)
    sent = only(world.look(whole))
    assert sent.version is None and sent.kept[0].version == good.version
    assert good.outline in privacy_and_audit.wanted_blobs(world.ctx)
    world.work()
    assert only(world.look(whole)).version is None


def test_pictures_are_the_carvings_own(world: World):
    whole, carving = stopped(world)
    client = world.client(whole.order.id)
    for shown, data in (("sent", b"sent"), ("carved", b"carved"), ("changed", b"changed")):
        file = versions.version_picture(world.ctx, client, carving.id, "as-placed", shown)
        assert world.blobs.get(file.digest) == data
    for code, shown in (("as-placed", "outline"), ("stacked", "carved")):
        with pytest.raises(NotFoundError):
            versions.version_picture(world.ctx, client, carving.id, code, shown)
    other = world.client(world.place().order.id)
    with pytest.raises(NotFoundError):
        versions.version_picture(world.ctx, other, carving.id, "as-placed", "carved")
    with pytest.raises(NotFoundError):
        versions.list_versions(world.ctx, other, carving.id)


def test_work_that_takes_too_long_leaves_the_other_proposals(world: World):
    world.compute.trouble["find_first_repair"] = refusal("too-much-work")
    _, carving = stopped(world)
    offered = versions.list_versions(world.ctx, world.maker, carving.id)
    assert (offered.state, offered.versions) == (VersionsState.READY, ())
    assert offered.reason is not None and [cure.code for cure in offered.others] == ["resize-1", "thicken-1"]


def test_work_that_is_given_up_is_told_and_can_be_asked_for_again(world: World):
    world.compute.trouble["find_first_repair"] = ComputeFaultError("GEOSException: side location conflict")
    whole = world.upload(world.place())
    cutting.place(world.ctx, world.maker, only(whole).id, only(whole).revision, Placement(0.0, 300.0, TINY))
    with pytest.raises(ComputeFaultError):
        world.work()
    carving = only(world.look(whole))
    work = looking.jobs_by_order_ids(world.ctx, world.maker, [whole.order.id])[0]
    job = next(each for each in work if each.kind is JobKind.VERSIONS)
    payload = {"job": job.id, "workshop": world.shop.id, "subject": carving.id, "proof": carving.proof_id}
    jobs.fail_job(world.ctx, payload, "GEOSException")
    assert versions.list_versions(world.ctx, world.maker, carving.id).state is VersionsState.FAILED
    assert versions.list_cures(world.ctx, world.maker, carving.id) == ()
    assert only(world.look(whole)) == carving  # nothing of it is refused
    del world.compute.trouble["find_first_repair"]
    again = versions.find_versions(world.ctx, world.client(whole.order.id), carving.id)
    assert again.state is VersionsState.WORKING
    world.work()
    assert versions.list_versions(world.ctx, world.maker, carving.id).state is VersionsState.READY
    assert retrying.retry_work(world.ctx, world.maker, job.id).state is JobState.WAITING
    assert world.work() == 1  # known already


def test_an_order_has_a_budget_of_them(world: World, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(rate_limit, "VERSIONS", replace(rate_limit.VERSIONS, times=1))
    whole, carving = stopped(world)
    cutting.place(world.ctx, world.maker, carving.id, carving.revision, Placement(0.0, 300.0, TINY / 2))
    world.work()
    assert only(world.look(whole)).verdict == "will-not-carve"
    assert versions.list_versions(world.ctx, world.maker, carving.id).state is VersionsState.NOT_ASKED
    with pytest.raises(TooManyError):
        versions.find_versions(world.ctx, world.client(whole.order.id), carving.id)
    world.clock.pass_by(hours=2)
    assert versions.find_versions(world.ctx, world.maker, carving.id).state is VersionsState.WORKING


def test_a_network_has_a_budget_of_them_in_all_its_orders(world: World, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(rate_limit, "VERSIONS_NETWORK", replace(rate_limit.VERSIONS_NETWORK, times=1))

    def state_from(address: str, scale: float) -> VersionsState:
        whole = world.upload(world.place())
        client = replace(world.client(whole.order.id), address=address)
        small = Placement(0.0, 300.0, scale)
        cutting.place(world.ctx, client, only(whole).id, only(whole).revision, small)
        world.work()
        return versions.list_versions(world.ctx, client, only(whole).id).state

    # One network of IPv6 is a /64 (RFC 4291 §2.5.1: interface identifiers are its last 64 bits).
    assert state_from("2001:db8::1", 0.5) is VersionsState.READY
    assert state_from("2001:db8::2", 0.4) is VersionsState.NOT_ASKED
    assert state_from("2001:db8:0:1::1", 0.3) is VersionsState.READY


def test_versions_are_forgotten_with_the_art_they_are_of(world: World):
    whole, carving = stopped(world)
    other, _ = stopped(world)
    kept = {carving.outline, world.blobs.put(carving_repaired(world, carving)), world.blobs.put(b"carved")}
    order = world.look(whole).order
    privacy_and_audit.erase_client(world.ctx, world.maker, order.id, order.revision)
    assert kept <= set(world.blobs.kept)  # the other client's order has the same drawing
    order = world.look(other).order
    privacy_and_audit.erase_client(world.ctx, world.maker, order.id, order.revision)
    assert not kept & set(world.blobs.kept)


def carving_repaired(world: World, carving: Carving) -> bytes:
    return world.blobs.get(carving.outline) + b" repaired"


def test_versions_are_kept_for_some_time_only(world: World):
    _, carving = stopped(world)
    world.clock.pass_by(days=privacy_and_audit.VERSIONS_KEPT.days + 1)
    privacy_and_audit.sweep(world.ctx)
    assert versions.list_versions(world.ctx, world.maker, carving.id).state is VersionsState.NOT_ASKED
