"""Items at the bench, on both databases: who may tick, what is refused, what the record says."""

from __future__ import annotations

import csv
import io
import threading
import zipfile

import pytest

from service.orders.errors import ConflictError, DomainError, InvalidError, NotAllowedError, NotFoundError
from service.orders.items import BreakReason, ItemState
from service.orders.record import EntryKind
from service.usecases import items as at_bench
from service.usecases import looking, privacy_and_audit, producing, remaking

from .world import World, shown

WIDE = "1-1-1-back-wide"
S = ItemState


def tick(world: World, whole, *keys: str, seen=S.TO_CARVE, to=S.CARVED, by=None):
    return at_bench.tick_items(world.ctx, by or world.helper, whole.order.id, keys, seen=seen, to=to)


def remake(world: World, whole, key: str, reason=BreakReason.KNOT, words: str = ""):
    return at_bench.remake_item(world.ctx, world.helper, whole.order.id, key, reason, words=words)


def states(world: World, whole) -> dict[str, str]:
    return {item.key: item.state for item in at_bench.list_items(world.ctx, world.maker, whole.order.id)}


def entries(world: World, whole, kind: EntryKind):
    every = looking.decisions_by_order_ids(world.ctx, world.maker, [whole.order.id])[0]
    return [entry for entry in every if entry.kind is kind]


def test_ticks_are_kept_with_who_and_when_and_start_production(either_world: World):
    world, whole = either_world, either_world.released()
    done = tick(world, whole, WIDE, "1-2-1-back-wide")
    assert [(item.state, item.by, item.at) for item in done] == [
        (S.CARVED, "Wren Thistle", world.clock.now())
    ] * 2
    after = world.look(whole)
    assert (after.order.state, after.order.activity > whole.order.activity) == ("in-production", True)
    found = states(world, whole)
    assert len(found) == 12 * 3
    assert [key for key, state in found.items() if state is S.CARVED] == [WIDE, "1-2-1-back-wide"]
    (entry,) = entries(world, whole, EntryKind.TICK)
    assert entry.facts == {"items": [WIDE, "1-2-1-back-wide"], "from": "to-carve", "to": "carved"}
    assert privacy_and_audit.verify_record(world.ctx, world.maker) is None


def test_a_remake_needs_no_signature_and_holds_the_same_digest(either_world: World):
    world, whole = either_world, either_world.released()
    tick(world, whole, WIDE)
    again = remake(world, whole, WIDE, words="under the stem")
    assert (again.key, again.state, again.digest) == (
        "1-1-2-back-wide",
        S.TO_CARVE,
        whole.proofs[0].digest,
    )
    (entry,) = entries(world, whole, EntryKind.REMAKE)
    assert entry.facts == {"item": WIDE, "again": again.key, "from": "carved", "reason": "knot"}
    assert (entry.digest, entry.particulars and entry.particulars.words) == (again.digest, "under the stem")
    found = states(world, whole)
    assert (found[WIDE], found[again.key]) == (S.BROKEN, S.TO_CARVE)
    assert len(entries(world, whole, EntryKind.SIGN_OFF)) == 1
    assert world.look(whole).order.state == "in-production"
    for attempt, code in (
        (lambda: remake(world, whole, WIDE), "already-remade"),
        (lambda: tick(world, whole, WIDE, seen=S.CARVED, to=S.PACKED), "item-broken"),
    ):
        with pytest.raises(ConflictError) as told:
            attempt()
        assert told.value.code == code


def test_nothing_is_ticked_or_made_again_before_a_release(world: World):
    whole = world.approved()
    for attempt in (
        lambda: tick(world, whole, WIDE),
        lambda: remake(world, whole, WIDE),
        lambda: at_bench.list_items(world.ctx, world.maker, whole.order.id),
    ):
        with pytest.raises(ConflictError) as told:
            attempt()
        assert told.value.code == "not-released"
    assert world.look(whole) == whole


def test_only_the_bench_ticks(world: World):
    whole = world.released()
    client = world.client(whole.order.id)
    for actor, refusal in ((client, NotAllowedError), (world.stranger, NotFoundError)):
        with pytest.raises(refusal):
            tick(world, whole, WIDE, by=actor)
        with pytest.raises(refusal):
            at_bench.list_items(world.ctx, actor, whole.order.id)
    assert tick(world, whole, WIDE, by=world.maker)[0].by == "Tamsin Oxbarrow"


def test_all_are_ticked_or_none(world: World):
    whole = world.released()
    tick(world, whole, WIDE)
    with pytest.raises(ConflictError):
        tick(world, whole, "1-2-1-back-wide", WIDE)
    with pytest.raises(NotFoundError):
        tick(world, whole, "1-2-1-back-wide", "1-99-1-back-wide")
    with pytest.raises(InvalidError):
        tick(world, whole, "1-2-1-back-wide", "1-2-1-back-wide")
    assert states(world, whole)["1-2-1-back-wide"] is S.TO_CARVE
    assert len(entries(world, whole, EntryKind.TICK)) == 1


def test_of_two_people_who_tick_the_same_board_at_once_one_is_told_who_did(either_world: World):
    world, whole = either_world, either_world.released()
    told: list[str] = []
    start = threading.Barrier(2)

    def do(actor) -> None:
        start.wait()
        try:
            tick(world, whole, WIDE, by=actor)
        except DomainError as error:
            told.append(f"{getattr(error, 'code', '')}: {error}")

    people = [threading.Thread(target=do, args=[actor]) for actor in (world.maker, world.helper)]
    for person in people:
        person.start()
    for person in people:
        person.join()
    assert len(told) == 1
    assert told[0].startswith("item-moved: ")
    assert "carved already: ticked by" in told[0]
    assert len(entries(world, whole, EntryKind.TICK)) == 1


def test_what_was_carved_holds_after_a_recall_and_a_new_release_of_the_same(world: World):
    whole = world.released()
    tick(world, whole, WIDE)
    order = world.look(whole).order
    after = producing.recall(world.ctx, world.maker, order.id, order.revision, "wait")
    with pytest.raises(ConflictError):
        tick(world, whole, "1-2-1-back-wide")
    producing.release(world.ctx, world.maker, order.id, after.order.revision, shown(after))
    assert states(world, whole)[WIDE] is S.CARVED


def test_boards_made_again_have_sheets_of_their_own(world: World):
    whole = world.released()
    with pytest.raises(ConflictError) as told:
        remaking.remake_sheets(world.ctx, world.helper, whole.order.id)
    assert told.value.code == "nothing-to-remake"
    remake(world, whole, "1-3-1-back-wide")
    remake(world, whole, "1-7-1-leg", BreakReason.DROPPED)
    remake(world, whole, "1-5-1-back-wide")
    tick(world, whole, "1-5-2-back-wide")  # carved again already
    opened = zipfile.ZipFile(io.BytesIO(remaking.remake_sheets(world.ctx, world.helper, whole.order.id)))
    assert opened.namelist() == ["bed-01.dxf", "bed-01.svg", "labels.pdf", "parts-list.csv"]
    rows = list(csv.DictReader(io.StringIO(opened.read("parts-list.csv").decode("utf-8-sig"))))
    assert sorted(row["key"] for row in rows) == ["1-3-2-back-wide", "1-7-2-leg"]
    assert {row["key"]: row["proof"] for row in rows} == {
        "1-3-2-back-wide": whole.proofs[0].digest,
        "1-7-2-leg": "",
    }
    with pytest.raises(NotAllowedError):
        remaking.remake_sheets(world.ctx, world.client(whole.order.id), whole.order.id)
