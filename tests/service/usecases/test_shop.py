"""What a workshop sets, and what a change does to open proofs."""

from __future__ import annotations

from dataclasses import replace

import pytest

from artwork.layout_json import layout_from_json, layout_to_json
from artwork.workpiece import Allowances, Bit
from service.orders.actors import Scope, Visitor
from service.orders.errors import ConflictError, InvalidError, NotAllowedError, NotFoundError, StaleError
from service.orders.record import EntryKind
from service.usecases import approving, cutting, privacy_and_audit, shop
from service.usecases.commands import CutChange, WorkshopContent

from .world import BITS, World, bench, only, shown, states


def sand_more(world: World, by: float = 0.1):
    settings = shop.get_settings(world.ctx, world.maker)
    now = settings.workshop
    own = replace(now.allowances, sanding=now.allowances.sanding + by)
    asked = WorkshopContent(now.name, own, now.usual_bit, now.retention_days)
    return shop.save_workshop(world.ctx, world.maker, asked, now.revision)


def last_entry(world: World):
    return privacy_and_audit.list_record(world.ctx, world.maker).items[0]


def test_what_is_stored_comes_back_as_it_was(world: World):
    assert shop.get_model(world.ctx, world.maker, "longwalk-bench").layout == bench()
    assert layout_from_json(layout_to_json(bench())) == bench()
    settings = shop.get_settings(world.ctx, world.maker)
    assert {owned.bit for owned in settings.bits} == set(BITS)
    assert settings.workshop == world.shop


def test_workshops_have_keys_of_their_own(world: World):
    with pytest.raises(ConflictError, match="already"):
        shop.open_workshop(world.ctx, "oxbarrow", "Another", BITS[0], Allowances())
    with pytest.raises(InvalidError):
        shop.open_workshop(world.ctx, "Ox Barrow", "Another", BITS[0], Allowances())
    assert [each.key for each in shop.list_workshops(world.ctx)] == ["fenwick", "oxbarrow"]
    assert shop.find_workshop(world.ctx, "oxbarrow").id == world.shop.id
    with pytest.raises(NotFoundError):
        shop.find_workshop(world.ctx, "nowhere")
    with pytest.raises(NotFoundError):
        shop.list_models(world.ctx, Visitor("no-such-workshop"))


def test_only_makers_change_settings_and_only_staff_see_them(world: World):
    whole = world.place()
    for actor in (world.helper, world.client(whole.order.id), world.visitor, world.site(*Scope)):
        with pytest.raises(NotAllowedError):
            shop.save_bit(world.ctx, actor, Bit("v90"), 0)
        with pytest.raises(NotAllowedError):
            shop.save_model(world.ctx, actor, bench(), {}, 1)
    with pytest.raises(NotAllowedError):
        shop.get_settings(world.ctx, world.client(whole.order.id))
    assert shop.get_settings(world.ctx, world.helper).workshop.key == "oxbarrow"


def test_two_makers_do_not_overwrite_each_other(world: World):
    shop.save_bit(world.ctx, world.maker, replace(BITS[0], height=12.0), 1)
    with pytest.raises(StaleError) as caught:
        shop.save_bit(world.ctx, world.maker, replace(BITS[0], height=9.0), 1)
    assert caught.value.current == 2
    with pytest.raises(StaleError):
        shop.save_bit(world.ctx, world.maker, Bit("v90"), 1)
    with pytest.raises(StaleError):
        shop.save_model(world.ctx, world.maker, bench(), {}, 0)


def test_every_change_is_on_record(world: World):
    sand_more(world)
    entry = last_entry(world)
    assert entry.kind is EntryKind.SETTING
    assert entry.facts["allowances"] == {"sanding": [0.3, 0.4]}
    assert entry.particulars is not None
    assert entry.particulars.name == "Tamsin Oxbarrow"
    shop.save_bit(world.ctx, world.maker, Bit("v90", 90.0), 0)
    assert last_entry(world).facts["bit"]["angle_deg"] == 90.0
    assert privacy_and_audit.verify_record(world.ctx, world.maker) is None


def test_open_proofs_become_stale_and_say_why(world: World):
    whole = world.approved()
    sand_more(world)
    after = world.look(whole)
    assert states(after) == ["stale"]
    proof = after.proofs[0]
    assert proof.stale_because == "The workshop changed its allowances (sanding)."
    assert (proof.signed_at, proof.judged_at) == (None, None)
    assert last_entry(world).facts["stale"] == [proof.digest]
    with pytest.raises(ConflictError, match="changed its allowances"):
        approving.sign_off(world.ctx, world.client(whole.order.id), whole.order.id, shown(after))
    carving = only(after)
    cutting.check_again(world.ctx, world.client(whole.order.id), carving.id, carving.revision)
    world.work()
    again = world.look(whole)
    assert states(again) == ["checked"]
    assert again.proofs[0].digest != proof.digest


def test_a_change_back_does_not_bring_approvals_back(world: World):
    whole = world.approved()
    sand_more(world, 0.1)
    sand_more(world, -0.1)
    assert states(world.look(whole)) == ["stale"]


def test_what_does_not_decide_the_cut_leaves_proofs_alone(world: World):
    whole = world.approved()
    now = shop.get_settings(world.ctx, world.maker).workshop
    asked = WorkshopContent("Oxbarrow & Daughter", now.allowances, now.usual_bit, 30)
    shop.save_workshop(world.ctx, world.maker, asked, now.revision)
    shop.save_bit(world.ctx, world.maker, replace(BITS[1], height=5.0), 1)  # not the bit that is used
    renamed = replace(bench(), name="Long walk bench")
    shop.save_model(world.ctx, world.maker, renamed, {}, 1)
    shop.retire_model(world.ctx, world.maker, "longwalk-bench", True, 2)
    assert states(world.look(whole)) == ["approved"]


def test_a_carvings_own_allowance_is_not_touched_by_the_workshops(world: World):
    whole = world.upload(world.place(("back-wide", "back-left")))
    wide = next(c for c in whole.carvings if c.slat_key == "back-wide")
    own = CutChange(allowances={"sanding": 0.2})
    cutting.change_cut(world.ctx, world.maker, wide.id, wide.revision, own)
    world.work()
    sand_more(world)
    assert {c.slat_key: c.state.value for c in world.look(whole).carvings} == {
        "back-wide": "checked", "back-left": "stale",
    }  # fmt: skip


def test_another_slat_or_bit_makes_its_own_proofs_stale(world: World):
    whole = world.upload(world.place(("back-wide", "back-left")))
    slats = tuple(
        replace(each, slat=replace(each.slat, thickness=22.0)) if each.slat.key == "back-left" else each
        for each in bench().slats
    )
    shop.save_model(world.ctx, world.maker, replace(bench(), slats=slats), {}, 1)
    assert {c.slat_key: c.state.value for c in world.look(whole).carvings} == {
        "back-wide": "checked", "back-left": "stale",
    }  # fmt: skip
    shop.save_bit(world.ctx, world.maker, replace(BITS[0], tip_flat=0.2), 1)
    assert set(states(world.look(whole))) == {"stale"}


def test_a_slat_that_is_gone_leaves_nothing_to_cut(world: World):
    whole = world.upload(world.place())
    slats = tuple(each for each in bench().slats if each.slat.key != "back-wide")
    shop.save_model(world.ctx, world.maker, replace(bench(), slats=slats), {}, 1)
    carving = only(world.look(whole))
    assert carving.state == "stale"
    cutting.check_again(world.ctx, world.maker, carving.id, carving.revision)
    world.work()
    carving = only(world.look(whole))
    assert (carving.state, carving.trouble.code) == ("refused", "slat-gone")


def test_settings_that_change_while_a_proof_is_made_are_noticed(world: World):
    whole = world.upload(world.place())
    carving = only(whole)
    judge = world.compute.judge

    def meanwhile(*args):
        world.compute.judge = judge
        sand_more(world)
        return judge(*args)

    world.compute.judge = meanwhile
    cutting.check_again(world.ctx, world.maker, carving.id, carving.revision)
    world.work()
    proof = world.look(whole).proofs[0]
    assert proof.facts["allowances"]["sanding"] == pytest.approx(0.4)
    assert (proof.number, proof.stale_because) == (2, "")


def test_proofs_of_other_workshops_stay_as_they_are(world: World):
    whole = world.approved()
    theirs = shop.get_settings(world.ctx, world.stranger).workshop
    asked = WorkshopContent(theirs.name, replace(theirs.allowances, sanding=1.0), "v60", 365)
    shop.save_workshop(world.ctx, world.stranger, asked, theirs.revision)
    assert states(world.look(whole)) == ["approved"]


def test_the_usual_bit_stays_in_use(world: World):
    with pytest.raises(ConflictError, match="usual"):
        shop.retire_bit(world.ctx, world.maker, "v60", True, 1)
    with pytest.raises(NotFoundError):
        shop.retire_bit(world.ctx, world.maker, "v120", True, 1)
    retired = shop.retire_bit(world.ctx, world.maker, "v60-fine", True, 1)
    assert (retired.retired, retired.revision) == (True, 2)
    now = shop.get_settings(world.ctx, world.maker).workshop
    with pytest.raises(InvalidError):
        asked = WorkshopContent(now.name, now.allowances, "v60-fine", 365)
        shop.save_workshop(world.ctx, world.maker, asked, now.revision)


def test_visitors_are_offered_what_is_not_retired(world: World):
    shop.retire_model(world.ctx, world.maker, "longwalk-bench", True, 1)
    assert shop.list_models(world.ctx, world.visitor) == ()
    assert len(shop.list_models(world.ctx, world.helper)) == 1
    assert shop.get_model(world.ctx, world.visitor, "longwalk-bench").retired
