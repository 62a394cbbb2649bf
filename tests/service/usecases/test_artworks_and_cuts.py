"""Art taken in and laid; trials, cures and the maker's changes."""

from __future__ import annotations

import hashlib
from dataclasses import replace

import pytest

from artwork.cut import Placement
from artwork.intake.values import Wishes
from service.orders.actors import Scope
from service.orders.errors import (
    ConflictError,
    InvalidError,
    NotAllowedError,
    NotFoundError,
    StaleError,
    TooManyError,
)
from service.orders.states import CarvingState
from service.orders.work import JobState
from service.usecases import artworks, choosing, cutting, jobs, looking, privacy_and_audit, versions
from service.usecases.answers import OrderAggregate
from service.usecases.blob_refs import sweep_unnamed
from service.usecases.commands import CutChange, IdempotencyKey, Trial, Upload

from .world import CREST, World, only, refusal, states


def send(
    world: World, whole: OrderAggregate, data=CREST, name="crest.svg", actor=None, once=None
) -> OrderAggregate:
    upload = Upload(data, name, "image/svg+xml", tuple(each.id for each in whole.carvings))
    client = actor or world.client(whole.order.id)
    return artworks.upload_artwork(world.ctx, client, whole.order.id, upload, once)


def test_the_original_is_kept_byte_for_byte(world: World):
    whole = send(world, world.place())
    (file,) = whole.artworks
    assert file.sha256 == hashlib.sha256(CREST).hexdigest()
    assert world.blobs.get(file.sha256) == CREST
    assert (file.name, file.size, file.content_type) == ("crest.svg", len(CREST), "image/svg+xml")
    assert states(whole) == ["reading"]
    handed = looking.artwork_file(world.ctx, world.maker, file.id)
    assert (handed.digest, handed.original) == (file.sha256, True)


def test_one_file_for_many_slats_is_read_once(world: World):
    whole = send(world, world.place(("back-wide", "back-left")))
    world.work()
    assert world.compute.calls.count("read_art") == 1
    whole = world.look(whole)
    assert set(states(whole)) == {"checked"}
    again = send(world, whole)
    assert len(again.artworks) == 1
    world.work()
    assert world.compute.calls.count("read_art") == 1
    assert [proof.number for proof in world.look(whole).proofs] == [2, 2]


def test_progress_can_be_seen(world: World):
    whole = send(world, world.place())
    (job,) = looking.jobs_by_order_ids(world.ctx, world.client(whole.order.id), [whole.order.id])[0]
    assert (job.state, job.fraction) == (JobState.WAITING, 0.0)
    world.work()
    found = looking.jobs_by_order_ids(world.ctx, world.maker, [whole.order.id])[0]
    assert [(each.state, each.fraction, each.attempts) for each in found] == [(JobState.DONE, 1.0, 1)] * 2
    assert looking.get_job(world.ctx, world.maker, job.id).stage == "done"
    with pytest.raises(NotFoundError):
        looking.get_job(world.ctx, world.stranger, job.id)


@pytest.mark.parametrize(
    ("name", "shown_as"),
    [
        ("../../etc/passwd", "passwd"),
        ("C:\\art\\logo.png", "logo.png"),
        ("a\x00b\r\nX: y.svg", "abX: y.svg"),
        ("x" * 300 + ".svg", "x" * 196 + ".svg"),
        ("\u202egvs.exe", "gvs.exe"),
        ("", "artwork"),
        ("\ud800.svg", ".svg"),
    ],
)
def test_file_names_are_shown_and_never_believed(world: World, name, shown_as):
    assert send(world, world.place(), name=name).artworks[0].name == shown_as


def test_an_empty_file_and_unknown_slats_are_refused_before_anything_is_kept(world: World):
    whole = world.place()
    client = world.client(whole.order.id)
    with pytest.raises(InvalidError, match="empty"):
        send(world, whole, b"")
    for ids in ((), ("nowhere",), (only(world.place()).id,)):
        with pytest.raises(InvalidError, match="slats"):
            artworks.upload_artwork(world.ctx, client, whole.order.id, Upload(b"x", "x", carving_ids=ids))
    with pytest.raises(NotAllowedError):
        send(world, whole, actor=world.helper)
    with pytest.raises(NotAllowedError, match=r"orders\.write"):
        send(world, whole, actor=world.site(Scope.ORDERS_READ))
    for actor in (world.stranger, world.visitor, world.client("other")):
        with pytest.raises(NotFoundError):
            send(world, whole, actor=actor)
    assert world.blobs.kept == {}
    assert world.look(whole).artworks == ()


def test_nothing_is_half_stored_when_the_transaction_fails(world: World, monkeypatch):
    whole = world.place()

    def fail(*_args, **_more):
        raise ZeroDivisionError

    monkeypatch.setattr(world.queue, "enqueue", fail)
    with pytest.raises(ZeroDivisionError):
        send(world, whole)
    assert world.look(whole) == whole
    assert looking.jobs_by_order_ids(world.ctx, world.maker, [whole.order.id]) == [()]


def test_bytes_swept_away_between_keeping_and_naming_them_are_kept_again(world: World, monkeypatch):
    whole = world.place()
    put, swept = world.blobs.put, []

    def keep_and_sweep(data):
        digest = put(data)
        if digest not in swept:
            swept.append(digest)
            assert sweep_unnamed(world.ctx, [digest]) == (digest,)
        return digest

    monkeypatch.setattr(world.blobs, "put", keep_and_sweep)
    send(world, whole)
    world.work()
    whole = world.look(whole)
    assert privacy_and_audit.wanted_blobs(world.ctx) == set(swept) == set(world.blobs.kept)
    assert states(whole) == ["checked"]


def test_the_same_key_uploads_once(world: World):
    whole, once = world.place(), IdempotencyKey("k", "c" * 64)
    first = send(world, whole, once=once)
    assert send(world, whole, once=once) == first
    assert len(world.queue.asked) == 1


def test_a_refused_file_says_why_and_another_one_goes(world: World):
    whole = send(world, world.place(), b"bad file")
    world.work()
    carving = only(world.look(whole))
    assert carving.state is CarvingState.REFUSED
    assert carving.trouble is not None
    assert (carving.trouble.code, carving.trouble.cure) == ("not-an-image", "Send another.")
    with pytest.raises(ConflictError, match="not been read"):
        cutting.check_again(world.ctx, world.maker, carving.id, carving.revision)
    send(world, whole)
    world.work()
    assert states(world.look(whole)) == ["checked"]


def test_a_slat_without_room_refuses_that_carving_alone(world: World):
    whole = send(world, world.place(("back-wide", "back-left")))
    lay = world.compute.lay
    world.compute.lay = lambda outline, at: _no_room(at, lay, outline)
    world.work()
    by_slat = {carving.slat_key: carving for carving in world.look(whole).carvings}
    assert by_slat["back-wide"].state is CarvingState.CHECKED
    assert by_slat["back-left"].state is CarvingState.REFUSED
    assert by_slat["back-left"].trouble.code == "no-room"


def test_a_file_that_is_refused_costs_nothing_that_was_good(world: World):
    """The art, its place and a cured outline are back, checked anew; approvals went with the change of mind."""
    carving = only(world.offered())
    carving = only(
        cutting.place(world.ctx, world.maker, carving.id, carving.revision, Placement(0, 300, 0.5))
    )
    world.work()
    whole = choosing.apply_cure(world.ctx, world.maker, carving.id, carving.revision, "thicken-1")
    world.work()
    good = only(world.look(whole))
    sent = only(send(world, whole, b"bad file"))
    assert (sent.state, [art.outline for art in sent.kept]) == (CarvingState.READING, [good.outline])
    assert good.outline in privacy_and_audit.wanted_blobs(world.ctx)
    world.work()
    after = only(world.look(whole))
    assert after.state is CarvingState.CHECKED
    for part in ("artwork_id", "reading_id", "outline", "outline_note", "placement", "version"):
        assert getattr(after, part) == getattr(good, part), part
    assert (after.trouble.code, after.trouble.message) == ("not-an-image", "It cannot be used.")
    assert after.trouble.cure == "Send another. What was on the slat before is still there."
    assert (after.kept, after.proof_id != good.proof_id) == ((), True)
    assert after.revision > sent.revision  # whoever saw the new file there looks again
    cutting.check_again(world.ctx, world.maker, after.id, after.revision)
    world.work()
    assert only(world.look(whole)).trouble is None


def test_art_the_engine_has_no_room_for_falls_back_too(world: World):
    whole = world.upload(world.place())
    good = only(whole)
    world.compute.trouble["lay"] = refusal("no-room")
    send(world, whole, b"something larger")
    world.work()
    after = only(world.look(whole))
    assert (after.state, after.artwork_id) == (CarvingState.CHECKED, good.artwork_id)
    assert after.trouble.code == "no-room"


@pytest.mark.parametrize(
    ("files", "wins"),
    [
        ("good bad", 0),
        ("bad good", 1),
        ("good other bad", 1),
        ("bad good bad", 1),
        ("good bad worse", 0),
        ("good bad good bad", 0),
        ("bad worse", None),
    ],
)
@pytest.mark.parametrize("newest_first", [False, True])
def test_files_sent_in_a_hurry_leave_the_newest_good_one(world: World, files, wins, newest_first):
    """All were sent before the first was read; the order in which they are read decides nothing."""
    whole, sent = world.place(("back-wide", "back-left")), []
    for name in files.split():
        upload = {"good": CREST, "other": b"another file"}.get(name, f"bad file, {name}".encode())
        sent.append(send(world, whole, upload).carvings[0].artwork_id)
        world.clock.pass_by(seconds=1)
    world.work(newest_first=newest_first)
    for after in world.look(whole).carvings:
        if wins is None:
            assert (after.state, after.trouble.code) == (CarvingState.REFUSED, "not-an-image")
        else:
            assert (after.state, after.artwork_id, after.kept) == (CarvingState.CHECKED, sent[wins], ())
    assert world.compute.calls.count("read_art") == len(set(sent))


def test_after_a_bad_file_a_slat_waits_for_the_one_sent_before_it(world: World):
    """Between the two readings it says that it waits, and with what; work given up there is asked for anew."""
    whole = world.place()
    first = only(send(world, whole))
    world.clock.pass_by(seconds=1)
    send(world, whole, b"bad file")
    found = looking.jobs_by_order_ids(world.ctx, world.maker, [whole.order.id])[0]
    new, old = sorted(found, key=lambda job: job.subject_id == first.reading_id)
    jobs.fail_job(
        world.ctx, {"job": old.id, "workshop": world.shop.id, "subject": old.subject_id}, "no power"
    )
    jobs.read_artwork_job(world.ctx, {"job": new.id, "workshop": world.shop.id, "subject": new.subject_id})
    between = only(world.look(whole))
    assert (between.state, between.artwork_id) == (CarvingState.READING, first.artwork_id)
    assert between.trouble.cure == "Send another. The file sent before it takes its place."
    world.work()
    assert (only(world.look(whole)).state, only(world.look(whole)).kept) == (CarvingState.CHECKED, ())


def test_so_many_files_in_a_hurry_are_kept_in_mind_and_no_more(world: World):
    """The art that was good before them is never the one let go."""
    whole = world.upload(world.place())
    good = only(whole)
    for number in range(12):
        send(world, whole, f"bad file {number}".encode())
    assert (len(only(world.look(whole)).kept), only(world.look(whole)).kept[-1].outline) == (9, good.outline)
    world.work()
    after = only(world.look(whole))
    assert (after.state, after.artwork_id) == (CarvingState.CHECKED, good.artwork_id)


def test_wishes_that_leave_nothing_are_taken_back(world: World):
    whole = world.upload(world.place())
    good = only(whole)
    world.compute.trouble["read_art"] = refusal("nothing-left")
    artworks.read_again(world.ctx, world.maker, good.id, good.revision, Wishes(shade=-3))
    world.work()
    after = only(world.look(whole))
    assert (after.state, after.reading_id) == (CarvingState.CHECKED, good.reading_id)


def _no_room(at, lay, outline):
    if at.slat.key == "back-left":
        raise refusal("no-room")
    return lay(outline, at)


def test_art_the_order_has_goes_on_another_slat(world: World):
    whole = world.place(("back-wide", "back-left"))
    wide = next(c for c in whole.carvings if c.slat_key == "back-wide")
    left = next(c for c in whole.carvings if c.slat_key == "back-left")
    upload = Upload(CREST, "crest.svg", carving_ids=(wide.id,))
    whole = artworks.upload_artwork(world.ctx, world.maker, whole.order.id, upload)
    file = whole.artworks[0]
    artworks.use_artwork(world.ctx, world.maker, left.id, left.revision, file.id)
    world.work()
    assert set(states(world.look(whole))) == {"checked"}
    assert world.compute.calls.count("read_art") == 1
    elsewhere = world.upload(world.place())
    with pytest.raises(NotFoundError):
        artworks.use_artwork(world.ctx, world.maker, left.id, left.revision + 1, elsewhere.artworks[0].id)


@pytest.mark.parametrize("wishes", [Wishes(shade=4), Wishes(page=-1), Wishes(page=500), Wishes(inks=(-1,))])
def test_wishes_out_of_range_are_refused(world: World, wishes):
    carving = only(world.upload(world.place()))
    with pytest.raises(InvalidError):
        artworks.read_again(world.ctx, world.maker, carving.id, carving.revision, wishes)


def test_reading_again_needs_art_and_keeps_the_place(world: World):
    blank = only(world.place())
    with pytest.raises(ConflictError, match="no artwork"):
        artworks.read_again(world.ctx, world.maker, blank.id, blank.revision, Wishes(shade=1))
    whole = world.upload(world.place())
    carving = only(whole)
    placement = replace(carving.placement, x=12.5)
    cutting.place(world.ctx, world.maker, carving.id, carving.revision, placement)
    carving = only(world.look(whole))
    artworks.read_again(world.ctx, world.maker, carving.id, carving.revision, Wishes(shade=1, inks=(0,)))
    world.work()
    after = world.look(whole)
    assert only(after).placement == placement
    assert only(after).outline != carving.outline
    assert {reading.wishes for reading in after.readings} == {Wishes(), Wishes(shade=1, inks=(0,))}


@pytest.mark.parametrize(
    "placement",
    [
        Placement(float("nan"), 0, 1),
        Placement(0, float("inf"), 1),
        Placement(0, 0, 0),
        Placement(0, 0, -1),
        Placement(0, 0, 1, 1e308),
        Placement(1e9, 0, 1),
    ],
)
def test_places_that_make_no_sense_are_refused(world: World, placement):
    carving = only(world.upload(world.place()))
    with pytest.raises(InvalidError):
        cutting.place(world.ctx, world.maker, carving.id, carving.revision, placement)
    with pytest.raises(InvalidError):
        cutting.try_cut(world.ctx, world.maker, carving.id, Trial(placement))


def test_two_hands_on_one_carving(world: World):
    whole = world.upload(world.place())
    carving = only(whole)
    cutting.place(world.ctx, world.maker, carving.id, carving.revision, Placement(1, 300, 1))
    with pytest.raises(StaleError):
        cutting.place(
            world.ctx, world.client(whole.order.id), carving.id, carving.revision, Placement(2, 300, 1)
        )
    assert only(world.look(whole)).placement == Placement(1, 300, 1)


def test_background_results_do_not_raise_the_revision_people_hold(world: World):
    whole = world.upload(world.place())
    carving = only(whole)
    after = only(cutting.place(world.ctx, world.maker, carving.id, carving.revision, Placement(1, 300, 1)))
    world.work()
    assert only(world.look(whole)).revision == after.revision
    assert world.look(whole).order.activity > whole.order.activity
    assert looking.get_activity(world.ctx, world.maker, whole.order.id) == world.look(whole).order.activity


def test_a_proof_that_was_overtaken_is_not_kept(world: World):
    whole = world.upload(world.place())
    carving = only(whole)
    judge = world.compute.judge

    def meanwhile(*args):
        world.compute.judge = judge
        now = only(world.look(whole))
        cutting.place(world.ctx, world.maker, now.id, now.revision, Placement(7, 300, 1))
        return judge(*args)

    world.compute.judge = meanwhile
    cutting.place(world.ctx, world.maker, carving.id, carving.revision, Placement(1, 300, 1))
    world.work()
    after = world.look(whole)
    assert after.proofs[0].facts["placement"]["x"] == 7
    assert after.proofs[0].number == 2


def test_a_trial_keeps_nothing(world: World):
    whole = world.upload(world.place())
    before = world.look(whole)
    judged = cutting.try_cut(world.ctx, world.helper, only(whole).id, Trial(Placement(0, 300, 0.5)))
    assert (judged.verdict, judged.picture is None) == ("will-not-carve", False)
    assert world.look(whole) == before
    tried = Trial(change=CutChange(slat_key="back-left", bit_key="v60-fine"))
    assert cutting.try_cut(world.ctx, world.maker, only(whole).id, tried).digest != before.proofs[0].digest
    with pytest.raises(NotAllowedError):
        cutting.try_cut(world.ctx, world.client(whole.order.id), only(whole).id, tried)


def test_over_load_and_refusals_of_a_trial_are_answers(world: World):
    whole = world.upload(world.place())
    world.compute.trouble["judge"] = TooManyError(2.0)
    with pytest.raises(TooManyError):
        cutting.try_cut(world.ctx, world.maker, only(whole).id, Trial())
    world.compute.trouble["judge"] = refusal("too-slow")
    with pytest.raises(ConflictError) as caught:
        cutting.try_cut(world.ctx, world.maker, only(whole).id, Trial())
    assert caught.value.code == "too-slow"


def test_the_maker_changes_slat_bit_board_and_allowances(world: World):
    whole = world.upload(world.place())
    carving = only(whole)
    change = CutChange("back-left", "v60-fine", 19.0, {"unevenness": 0.2})
    whole = cutting.change_cut(world.ctx, world.maker, carving.id, carving.revision, change)
    carving = only(whole)
    assert (carving.slat_key, carving.bit_key, carving.thickness) == ("back-left", "v60-fine", 19.0)
    assert carving.placement is None  # laid anew on the other slat
    world.work()
    whole = world.look(whole)
    facts = whole.proofs[0].facts
    assert (facts["slat"]["key"], facts["slat"]["thickness"]) == ("back-left", 19.0)
    assert (facts["bit"]["key"], facts["allowances"]["unevenness"]) == ("v60-fine", 0.2)
    back = CutChange(bit_key="", thickness=0, allowances={})
    whole = cutting.change_cut(world.ctx, world.maker, carving.id, only(whole).revision, back)
    carving = only(whole)
    assert (carving.bit_key, carving.thickness, carving.allowances) == (None, None, {})


def test_a_client_may_change_the_slat_and_nothing_else(world: World):
    whole = world.upload(world.place())
    client, carving = world.client(whole.order.id), only(whole)
    for change in (CutChange(bit_key="v60-fine"), CutChange(thickness=19.0), CutChange(allowances={})):
        with pytest.raises(NotAllowedError):
            cutting.change_cut(world.ctx, client, carving.id, carving.revision, change)
    after = cutting.change_cut(world.ctx, client, carving.id, carving.revision, CutChange("back-left"))
    assert only(after).slat_key == "back-left"


def test_changes_that_cannot_be_are_refused(world: World):
    whole = world.upload(world.place(("back-wide", "back-left")))
    carving = next(c for c in whole.carvings if c.slat_key == "back-wide")
    for change, field in (
        (CutChange("leg"), "slat_key"),
        (CutChange("nowhere"), "slat_key"),
        (CutChange(bit_key="v90"), "bit_key"),
        (CutChange(thickness=1.0), "thickness"),
        (CutChange(allowances={"sanding": float("nan")}), "allowances.sanding"),
    ):
        with pytest.raises(InvalidError) as caught:
            cutting.change_cut(world.ctx, world.maker, carving.id, carving.revision, change)
        assert [problem.field for problem in caught.value.problems] == [field]
    with pytest.raises(ConflictError, match="other art"):
        cutting.change_cut(world.ctx, world.maker, carving.id, carving.revision, CutChange("back-left"))


def test_the_largest_that_fits_keeps_its_turn_and_is_judged_where_it_lies(world: World):
    carving = only(world.upload(world.place()))
    asked = Trial(Placement(5, 300, 0.5, 30.0, True), largest=True)
    judged = cutting.try_cut(world.ctx, world.maker, carving.id, asked)
    assert judged.placement == Placement(0.0, 300.0, 3.0, 30.0, True)
    assert judged.verdict == "carves-with-remarks"  # judged at the size it was laid at, not as asked


def test_a_cure_is_one_call_away_and_never_applied_to_something_else(world: World):
    whole = world.upload(world.place())
    carving = only(whole)
    cutting.place(world.ctx, world.maker, carving.id, carving.revision, replace(carving.placement, scale=0.5))
    world.work()
    carving = only(world.look(whole))
    client = world.client(whole.order.id)
    cures = versions.list_cures(world.ctx, client, carving.id)
    assert [cure.code for cure in cures] == ["resize-1", "thicken-1"]
    with pytest.raises(ConflictError, match="no longer on offer"):
        choosing.apply_cure(world.ctx, client, carving.id, carving.revision, "resize-9")
    with pytest.raises(StaleError):
        choosing.apply_cure(world.ctx, client, carving.id, carving.revision - 1, "resize-1")
    choosing.apply_cure(world.ctx, client, carving.id, carving.revision, "thicken-1")
    world.work()
    after = world.look(whole)
    assert (only(after).placement.scale, only(after).outline_note) == (1.0, "Thicken it.")
    assert world.blobs.get(only(after).outline).endswith(b" thicker")
    assert after.proofs[0].verdict == "carves"
    with pytest.raises(NotAllowedError):
        choosing.apply_cure(world.ctx, world.helper, carving.id, only(after).revision, "resize-1")


def test_the_cure_of_a_cut_that_changed_meanwhile_is_not_applied(world: World):
    whole = world.upload(world.place())
    carving = only(
        cutting.place(world.ctx, world.maker, only(whole).id, only(whole).revision, Placement(0, 300, 0.5))
    )
    world.work()
    get = world.blobs.get

    def meanwhile(digest):
        world.blobs.get = get
        cutting.place(world.ctx, world.maker, carving.id, carving.revision, Placement(3, 300, 1))
        return get(digest)

    world.blobs.get = meanwhile
    with pytest.raises(StaleError):
        choosing.apply_cure(world.ctx, world.maker, carving.id, carving.revision, "resize-1")
    assert only(world.look(whole)).placement == Placement(3, 300, 1)


def test_a_job_done_twice_does_nothing_twice(world: World):
    whole = send(world, world.place())
    payloads = []
    enqueue = world.queue.enqueue

    def keep(connection, kind, key, payload):
        payloads.append((kind, payload))
        enqueue(connection, kind, key, payload)

    world.queue.enqueue = keep
    world.work()
    done = world.look(whole)
    for kind, payload in payloads:
        {"prove": jobs.prove_job, "read-artwork": jobs.read_artwork_job}[kind](world.ctx, payload)
    assert world.look(whole) == done


def test_a_crash_between_reading_and_storing_is_made_good(world: World):
    whole = send(world, world.place())
    world.compute.trouble["lay"] = ZeroDivisionError()
    with pytest.raises(ZeroDivisionError):
        world.work()
    job = looking.jobs_by_order_ids(world.ctx, world.maker, [whole.order.id])[0][0]
    assert (job.state, job.stage) == (JobState.RUNNING, "placing")
    world.compute.trouble.clear()
    jobs.read_artwork_job(world.ctx, {"job": job.id, "workshop": world.shop.id, "subject": job.subject_id})
    world.work()
    assert states(world.look(whole)) == ["checked"]
    assert len(world.look(whole).readings) == 1


def test_work_that_is_given_up_says_so_and_can_be_asked_for_again(world: World):
    whole = send(world, world.place())
    (job,) = looking.jobs_by_order_ids(world.ctx, world.maker, [whole.order.id])[0]
    payload = {"job": job.id, "workshop": world.shop.id, "subject": job.subject_id}
    jobs.fail_job(world.ctx, payload, "ZeroDivisionError: x")
    carving = only(world.look(whole))
    assert carving.state is CarvingState.REFUSED
    assert carving.trouble.code == "gave-up"
    failed = looking.get_job(world.ctx, world.maker, job.id)
    assert (failed.state, failed.message) == (JobState.FAILED, "ZeroDivisionError: x")
    artworks.use_artwork(world.ctx, world.maker, carving.id, carving.revision, carving.artwork_id)
    world.work()
    assert states(world.look(whole)) == ["checked"]


def test_a_cut_that_breaks_the_engine_is_refused_and_checked_again_on_demand(world: World):
    whole = world.upload(world.place())
    carving = only(whole)
    world.compute.trouble["judge"] = refusal("too-slow")
    cutting.check_again(world.ctx, world.maker, carving.id, carving.revision)
    world.work()
    carving = only(world.look(whole))
    assert (carving.state, carving.trouble.code) == (CarvingState.REFUSED, "too-slow")
    world.compute.trouble.clear()
    cutting.check_again(world.ctx, world.maker, carving.id, carving.revision)
    world.work()
    after = only(world.look(whole))
    assert (after.state, after.trouble) == (CarvingState.CHECKED, None)
