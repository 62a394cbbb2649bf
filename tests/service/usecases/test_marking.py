"""The workshop's own mark, from a draft's proof to the batch: approved once, frozen at release, verified."""

from __future__ import annotations

import csv
import io
import json
from dataclasses import replace
from pathlib import Path

import ezdxf
import pytest

from service.batches.verify import verify
from service.orders.actors import Actor
from service.orders.errors import ConflictError, NotAllowedError, NotFoundError
from service.orders.proofs import Shown
from service.orders.record import EntryKind
from service.usecases import (
    approving,
    looking,
    marking,
    planning,
    pricing,
    privacy_and_audit,
    producing,
    shop,
    showing,
)
from service.usecases.answers import OrderAggregate
from service.usecases.commands import WorkshopContent
from service.usecases.freezing import marks_of_order
from tests.service.usecases.test_machining import archive
from tests.service.usecases.world import CREST, RING, World, one, shown


def proposed(world: World, slat: str = "back-left", data: bytes = CREST) -> marking.ShownMark:
    draft = world.upload(world.place((slat,), 1), data)
    return marking.propose_mark(world.ctx, world.maker, one(draft.proofs[0]))


def approved(world: World, slat: str = "back-left", data: bytes = CREST) -> marking.ShownMark:
    mark = proposed(world, slat, data).mark
    return marking.approve_mark(world.ctx, world.maker, mark.id, mark.digest, mark.picture)


def release(world: World, whole: OrderAggregate) -> OrderAggregate:
    whole = world.look(whole)
    return producing.release(world.ctx, world.maker, whole.order.id, whole.order.revision, shown(whole))


def change_settings(world: World) -> None:
    workshop = shop.get_settings(world.ctx, world.maker).workshop
    allowances = replace(workshop.allowances, sanding=workshop.allowances.sanding + 0.05)
    content = WorkshopContent(workshop.name, allowances, workshop.usual_bit, workshop.retention_days)
    shop.save_workshop(world.ctx, world.maker, content, workshop.revision)


def test_versions_are_counted_approved_once_and_ended(world: World):
    first, second = approved(world).mark, proposed(world).mark
    assert [first.version, second.version] == [1, 2]
    with pytest.raises(ConflictError, match="approved already"):
        marking.approve_mark(world.ctx, world.maker, first.id, first.digest, first.picture)
    with pytest.raises(ConflictError, match="not the mark that was shown"):
        marking.approve_mark(world.ctx, world.maker, second.id, "0" * 64, second.picture)
    ended = marking.end_mark(world.ctx, world.maker, first.id)
    assert marking.end_mark(world.ctx, world.maker, first.id) == ended
    found = marking.list_marks(world.ctx, world.helper)
    assert [
        (each.mark.version, each.mark.approval > 0, each.mark.ended_at is not None) for each in found
    ] == [
        (2, False, False),
        (1, True, True),
    ]


def test_each_decision_is_one_entry_of_the_record(world: World):
    mark = approved(world).mark
    marking.end_mark(world.ctx, world.maker, mark.id)
    marking.end_mark(world.ctx, world.maker, mark.id)
    entries = privacy_and_audit.list_record(world.ctx, world.maker).items
    about = [entry for entry in entries if entry.carving_id == mark.id]
    assert [entry.kind for entry in about] == [EntryKind.MARK_END, EntryKind.MARK_APPROVAL]
    assert about[-1].number == mark.approval
    assert (about[-1].digest, about[-1].picture) == (mark.digest, mark.picture)
    assert about[-1].facts["slat"] == "back-left"
    assert privacy_and_audit.verify_record(world.ctx, world.maker) is None


def test_the_maker_alone_decides_and_only_on_the_workshops_own(world: World):
    mark = proposed(world).mark
    draft = world.upload(world.place(("back-left",), 1))
    for actor in (world.helper, world.client(draft.order.id), world.site()):
        with pytest.raises(NotAllowedError):
            marking.propose_mark(world.ctx, actor, one(draft.proofs[0]))
        with pytest.raises(NotAllowedError):
            marking.approve_mark(world.ctx, actor, mark.id, mark.digest, mark.picture)
        with pytest.raises(NotAllowedError):
            marking.end_mark(world.ctx, actor, mark.id)
    with pytest.raises(NotFoundError):
        marking.propose_mark(world.ctx, world.stranger, one(draft.proofs[0]))
    for wrong in (mark.id, "a" * 26, "no id"):
        with pytest.raises(NotFoundError):
            marking.approve_mark(world.ctx, world.stranger, wrong, mark.digest, mark.picture)
        with pytest.raises(NotFoundError):
            marking.mark_picture(world.ctx, world.stranger, wrong)
    assert marking.list_marks(world.ctx, world.stranger) == ()
    assert world.blobs.get(marking.mark_picture(world.ctx, world.helper, mark.id).digest)


def test_only_a_drafts_current_proof_becomes_a_mark(world: World):
    submitted = world.submitted(("back-left",))
    with pytest.raises(ConflictError, match="client's order"):
        marking.propose_mark(world.ctx, world.maker, one(submitted.proofs[0]))
    draft = world.upload(world.place(("back-left",), 1))
    with pytest.raises(ConflictError, match="no longer the current one"):
        marking.propose_mark(world.ctx, world.maker, Shown(draft.carvings[0].id, "0" * 64, "0" * 64))


def test_a_mark_stays_when_its_draft_goes(world: World):
    mark = approved(world).mark
    (draft,) = looking.list_orders(world.ctx, world.maker).items
    privacy_and_audit.erase_client(world.ctx, world.maker, draft.id, draft.revision)
    assert {mark.digest, mark.outline, mark.picture} <= privacy_and_audit.wanted_blobs(world.ctx)
    assert all(world.blobs.get(digest) for digest in (mark.digest, mark.outline, mark.picture))


def test_changed_settings_stop_the_release_until_the_mark_is_approved_anew_or_ended(world: World):
    mark = approved(world).mark
    change_settings(world)
    assert [each.stale for each in marking.list_marks(world.ctx, world.maker)] == [True]
    whole = world.approved()
    with pytest.raises(ConflictError, match="version 1 of the workshop's mark on “back left”") as refused:
        release(world, whole)
    assert refused.value.code == "mark-changed"
    marking.end_mark(world.ctx, world.maker, mark.id)
    assert release(world, whole).order.released_at is not None


def test_the_mark_comes_with_the_batch_and_verifies(real_world: World, tmp_path: Path):
    world = real_world
    mark = approved(world, data=RING % b"20").mark
    whole = world.sign(world.offered(data=RING % b"30"))
    whole = approving.find_feasible(world.ctx, world.maker, whole.order.id, shown(whole))
    released = release(world, whole)
    marking.end_mark(world.ctx, world.maker, mark.id)  # what is released keeps it
    change_settings(world)
    with archive(world, released) as opened:
        batch = json.loads(opened.read(next(n for n in opened.namelist() if n.endswith("/batch.json"))))
        own = next(each for each in batch["orders"][0]["carvings"] if each["mark"] == 1)
        art = next(n for n in opened.namelist() if n.endswith(f"{own['folder']}/art.dxf"))
        drawing = ezdxf.read(io.StringIO(opened.read(art).decode()))
        table = opened.read(next(n for n in opened.namelist() if n.endswith("cut-list.csv"))).decode()
    assert (own["id"], own["pieces"], own["artwork"]) == (mark.id, 12, None)
    assert len(drawing.modelspace().query('LWPOLYLINE[layer=="ART"]')) > 0
    assert not drawing.audit().has_errors
    assert any("line 1: own mark v1" in " ".join(row) for row in csv.reader(io.StringIO(table)))

    path = tmp_path / "batch.zip"
    path.write_bytes(opened_bytes(world))
    verdict = verify(path)
    assert verdict.sound, verdict.problems
    assert "the workshop's own mark" in verdict.sentence


def opened_bytes(world: World) -> bytes:
    (batch,) = producing.list_batches(world.ctx, world.maker).items
    assert batch.archive
    return world.blobs.get(batch.archive)


def test_where_the_clients_art_is_the_mark_gives_way(real_world: World):
    world = real_world
    approved(world, "back-wide", RING % b"20")
    whole = world.sign(world.offered(data=RING % b"30"))
    whole = approving.find_feasible(world.ctx, world.maker, whole.order.id, shown(whole))
    with archive(world, release(world, whole)) as opened:
        batch = json.loads(opened.read(next(n for n in opened.namelist() if n.endswith("/batch.json"))))
    assert [each["mark"] for each in batch["orders"][0]["carvings"]] == [None]


def test_the_mark_is_seen_on_the_whole_piece_and_takes_time_but_no_money(real_world: World):
    """Before the release as it would be released today, after it as it was; the client pays nothing for it."""
    world = real_world
    whole = world.offered(data=RING % b"30")
    client, line = world.client(whole.order.id), whole.lines[0].id

    def seen(actor: Actor) -> bytes:
        return showing.piece_view(world.ctx, actor, whole.order.id, line, "fresh")

    def planned() -> float:
        return planning.plan_work(world.ctx, world.helper, whole.order.id).days.machine_minutes

    plain, minutes = seen(client), planned()
    price = pricing.get_quote(world.ctx, client, whole.order.id).current
    mark = approved(world, data=RING % b"20").mark
    marked, longer = seen(client), planned()
    assert marked != plain
    assert seen(world.maker) == marked
    each = mark.check["figures"]["minutes"]  # the board is loaded anyway
    assert longer == pytest.approx(minutes + whole.lines[0].quantity * each)
    assert pricing.get_quote(world.ctx, client, whole.order.id).current == price

    whole = world.sign(whole)
    released = release(world, approving.find_feasible(world.ctx, world.maker, whole.order.id, shown(whole)))
    marking.end_mark(world.ctx, world.maker, mark.id)
    assert (seen(client), planned()) == (marked, longer)  # what is released keeps it
    assert released.order.released_at is not None


def test_the_workshop_can_list_the_marks_on_an_order_and_a_release_keeps_its_own(world: World):
    mark = approved(world).mark

    def listed(order_id: str) -> list[tuple[int, int, str, int, bool]]:
        found = marking.list_order_marks(world.ctx, world.helper, order_id)
        return [
            (each.line, each.pieces, each.shown.mark.id, each.shown.mark.version, each.shown.stale)
            for each in found
        ]

    released = release(world, world.approved())
    (line,) = released.lines
    first = [(line.position, line.quantity, mark.id, 1, False)]
    assert listed(released.order.id) == first
    later = approved(world).mark
    assert listed(released.order.id) == first
    other = world.offered()
    assert [each[2:4] for each in listed(other.order.id)] == [(later.id, 2)]
    ids = [other.order.id, "none-of-theirs", released.order.id]
    each, none, kept = marking.marks_by_order_ids(world.ctx, world.helper, ids)
    assert (each, none, kept) == (
        marking.list_order_marks(world.ctx, world.helper, other.order.id),
        (),
        marking.list_order_marks(world.ctx, world.helper, released.order.id),
    )
    with pytest.raises(NotAllowedError):
        marking.list_order_marks(world.ctx, world.client(released.order.id), released.order.id)
    with pytest.raises(NotFoundError):
        marking.list_order_marks(world.ctx, world.stranger, released.order.id)


def test_a_mark_that_waits_for_approval_or_is_stale_is_not_shown(world: World):
    whole = world.offered()
    proposed(world)
    assert marks_of_order(world.ctx, whole) == ()
    approved(world)
    assert [each.mark.version for each in marks_of_order(world.ctx, whole)] == [2]
    change_settings(world)
    assert marks_of_order(world.ctx, whole) == ()


def test_a_recalled_release_takes_the_mark_back(world: World):
    mark = approved(world).mark
    released = release(world, world.approved())
    producing.recall(world.ctx, world.maker, released.order.id, released.order.revision, "Wrong board.")
    entries = privacy_and_audit.list_record(world.ctx, world.maker).items
    assert [e.kind for e in entries if e.carving_id == mark.id] == [
        EntryKind.RECALL,
        EntryKind.RELEASE,
        EntryKind.MARK_APPROVAL,
    ]
