"""Bodies of the background work. Each may be run again after a crash: what is done is not done twice.

A body computes outside of transactions and stores what it found in one. Before it stores it looks whether the
world has moved on meanwhile; then its result is dropped, or asked for again.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, replace
from typing import Any

from artwork import ENGINE_VERSION
from artwork.cut import Placement
from artwork.jsonable import allowances_to_json, bit_to_json, placement_to_json, slat_to_json
from artwork.refusal import Refusal
from service.orders.actors import System
from service.orders.artworks import Artwork, ReadingState, StoredReading
from service.orders.cuts import Circumstances, basis_of, circumstances
from service.orders.errors import Conflict
from service.orders.ids import new_id
from service.orders.order import Carving, Line, Trouble
from service.orders.proofs import Proof
from service.orders.states import CarvingState, OrderState
from service.orders.work import JobKind, JobState
from service.orders.workshop import Settings
from service.store import art, jobs, orders, shop
from service.store.reach import Reach
from service.usecases import computing
from service.usecases.batching import fail_batch, make_batch
from service.usecases.computing import JudgedCut
from service.usecases.context import Context
from service.usecases.naming import name_blobs
from service.usecases.opened import OpenOrder, open_carving, open_order
from service.usecases.progress import Progress

_OPEN = frozenset({OrderState.DRAFT, OrderState.SUBMITTED})


def read_artwork_job(ctx: Context, payload: Mapping[str, Any]) -> None:
    """Read a file, lay it on the carvings that wait for it, and ask for their proofs."""
    with _working(ctx, payload) as progress:
        reach = Reach(payload["workshop"])
        with ctx.store.reading() as connection:
            found = art.readings_by_ids(connection, reach, [payload["subject"]])
            files = art.artworks_by_ids(connection, reach, [each.artwork_id for each in found])
        if not found:
            return  # erased meanwhile
        made = _Made(found[0])
        if made.reading.state is ReadingState.WAITING:
            progress.say("reading", 0.1)
            made = _read(ctx, made.reading, files[0])
        progress.say("placing", 0.7)
        _lay_out(ctx, made, payload["workshop"])


def prove_job(ctx: Context, payload: Mapping[str, Any]) -> None:
    """Check the carving's cut and draw it: a new proof, unless the carving has changed since."""
    with _working(ctx, payload) as progress:
        hand = _cut_in_hand(ctx, payload)
        if hand is None:
            return  # overtaken
        try:
            at = circumstances(hand.carving, hand.line, hand.settings)
            placement = hand.carving.placement
            outline = ctx.blobs.get(hand.outline)
            if placement is None:
                progress.say("placing", 0.1)
                placement = ctx.compute.run(computing.lay, outline, at, about=hand.outline)
            progress.say("checking", 0.2)
            judged = ctx.compute.run(computing.judge, outline, at, placement, True, about=hand.outline)
        except (Refusal, Conflict) as error:
            _refuse_cut(ctx, payload, _trouble(error))
            return
        progress.say("keeping", 0.9)
        ctx.blobs.put(judged.facts)
        picture = ctx.blobs.put(judged.picture)
        _keep_proof(ctx, payload, _Proved(at, placement, judged, picture))


def batch_job(ctx: Context, payload: Mapping[str, Any]) -> None:
    """Assemble a batch's archive from released proofs."""
    with _working(ctx, payload) as progress:
        make_batch(ctx, payload["workshop"], payload["subject"], progress)


def fail_job(ctx: Context, payload: Mapping[str, Any], message: str) -> None:
    """The work was given up after too many tries: say so where people look.

    Args:
        message: what went wrong, for those who run the service; people who wait are told what to do.
    """
    actor = System(payload["workshop"])
    with ctx.store.writing() as connection:
        job = jobs.find_job(connection, Reach(payload["workshop"]), payload["job"])
        if job is None or job.state is JobState.DONE:
            return
        jobs.update_job(
            connection,
            job.id,
            ctx.clock.now(),
            state=JobState.FAILED,
            stage="given up",
            message=message[:500],
        )
        if job.kind is JobKind.BATCH:
            fail_batch(connection, payload["workshop"], payload["subject"])
    if job.kind is not JobKind.BATCH and job.order_id is not None:
        trouble = Trouble(
            "gave-up",
            "Something went wrong here while this was being worked out.",
            "Ask for it again; if that does not help either, send the file in another format.",
        )
        with open_order(ctx, actor, job.order_id, "refuse") as opened:
            for carving in _waiting_for(opened, job.kind, payload):
                opened.move_carving(carving, "refuse", trouble=trouble)


@contextmanager
def _working(ctx: Context, payload: Mapping[str, Any]) -> Iterator[Progress]:
    """Note that the job runs, and, unless its body fails, that it is done."""
    progress = Progress(ctx, payload["job"])
    progress.begin()
    yield progress
    progress.done()


@dataclass(frozen=True)
class _Made:
    """A reading, and the files just made with it: digest and bytes."""

    reading: StoredReading
    files: tuple[tuple[str, bytes], ...] = ()


def _read(ctx: Context, reading: StoredReading, file: Artwork) -> _Made:
    try:
        read = ctx.compute.run(
            computing.read_art, ctx.blobs.get(file.sha256), file.name, reading.wishes, about=file.sha256
        )
    except Refusal as refusal:
        return _Made(replace(reading, state=ReadingState.REFUSED, trouble=_trouble(refusal)))
    outline, picture = ctx.blobs.put(read.outline), ctx.blobs.put(read.picture)
    done = replace(
        reading,
        state=ReadingState.READ,
        outline=outline,
        picture=picture,
        kind=read.kind,
        format=read.format,
        report=read.report,
    )
    return _Made(done, ((outline, read.outline), (picture, read.picture)))


def _lay_out(ctx: Context, made: _Made, workshop_id: str) -> None:
    """Store what was read; every carving that waits for it goes on."""
    reading = made.reading
    places = _places(ctx, made, workshop_id) if reading.state is ReadingState.READ else {}
    actor = System(workshop_id)
    with open_order(ctx, actor, reading.order_id, "read") as opened:
        name_blobs(ctx, opened.connection, *made.files)
        art.finish_reading(opened.connection, reading)
        opened.changed()
        again = False
        for carving in _waiting_for(opened, JobKind.READ_ARTWORK, {"subject": reading.id}):
            if reading.trouble is not None:
                opened.move_carving(carving, "refuse", trouble=reading.trouble)
            elif carving.placement is not None:
                _go_on(opened, carving, reading, carving.placement)
            elif carving.id not in places:
                again = True  # came to this reading after the places were worked out
            elif isinstance(place := places[carving.id], Trouble):
                opened.move_carving(carving, "refuse", trouble=place)
            else:
                _go_on(opened, carving, reading, place)
        if again:
            opened.ask(JobKind.READ_ARTWORK, reading.id)


def _go_on(opened: OpenOrder, carving: Carving, reading: StoredReading, placement: Placement) -> None:
    moved = opened.move_carving(carving, "read", outline=reading.outline, placement=placement)
    opened.ask(JobKind.PROVE, moved.id, revision=moved.revision)


def _places(ctx: Context, made: _Made, workshop_id: str) -> dict[str, Placement | Trouble]:
    """Where the art starts out on each carving that waits for it, worked out once for slats alike."""
    reading = made.reading
    if reading.outline is None:
        return {}
    reach = Reach(workshop_id, reading.order_id)
    with ctx.store.reading() as connection:
        carvings = orders.carvings_of_orders(connection, reach, [reading.order_id])
        lines = {line.id: line for line in orders.lines_of_orders(connection, reach, [reading.order_id])}
        settings = shop.read_settings(connection, workshop_id)
    outline = dict(made.files).get(reading.outline) or ctx.blobs.get(reading.outline)
    known: dict[str, Placement | Trouble] = {}
    places: dict[str, Placement | Trouble] = {}
    for carving in carvings:
        if carving.reading_id != reading.id or carving.state is not CarvingState.READING:
            continue
        try:
            at = circumstances(carving, lines[carving.line_id], settings)
            basis = basis_of(at)
            if basis not in known:
                known[basis] = ctx.compute.run(computing.lay, outline, at, about=reading.outline)
            places[carving.id] = known[basis]
        except (Refusal, Conflict) as error:
            places[carving.id] = _trouble(error)
    return places


@dataclass(frozen=True)
class _Hand:
    """A carving that waits for its proof, as it stood when work on it began."""

    carving: Carving
    line: Line
    settings: Settings
    outline: str


@dataclass(frozen=True)
class _Proved:
    """What came of it."""

    at: Circumstances
    placement: Placement
    judged: JudgedCut
    picture: str


def _cut_in_hand(ctx: Context, payload: Mapping[str, Any]) -> _Hand | None:
    reach = Reach(payload["workshop"])
    with ctx.store.reading() as connection:
        found = orders.carvings_by_ids(connection, reach, [payload["subject"]])
        if not found or not _still(found[0], payload) or found[0].outline is None:
            return None
        lines = orders.lines_of_orders(connection, reach, [found[0].order_id])
        settings = shop.read_settings(connection, payload["workshop"])
    line = next(line for line in lines if line.id == found[0].line_id)
    return _Hand(found[0], line, settings, found[0].outline)


def _still(carving: Carving, payload: Mapping[str, Any]) -> bool:
    return carving.state is CarvingState.CHECKING and carving.revision == payload["revision"]


def _keep_proof(ctx: Context, payload: Mapping[str, Any], proved: _Proved) -> None:
    with _waiting_carving(ctx, payload) as (opened, carving):
        if carving is None:
            return
        line = opened.lines[carving.line_id]
        basis = basis_of(proved.at)
        if basis != basis_of(circumstances(carving, line, opened.settings)):
            opened.ask(JobKind.PROVE, carving.id, revision=carving.revision)
            return
        judged = proved.judged
        made = (judged.digest, judged.facts), (proved.picture, judged.picture)
        name_blobs(ctx, opened.connection, *made)
        proof = _proof(opened, carving, line, basis, proved)
        art.insert_proof(opened.connection, opened.order.workshop_id, proof)
        opened.move_carving(
            carving, "prove", placement=proved.placement, proof_id=proof.id, verdict=proof.verdict
        )


def _proof(opened: OpenOrder, carving: Carving, line: Line, basis: str, proved: _Proved) -> Proof:
    judged = proved.judged
    return Proof(
        id=new_id(),
        order_id=carving.order_id,
        carving_id=carving.id,
        number=art.next_proof_number(opened.connection, carving.id),
        digest=judged.digest,
        basis=basis,
        facts={
            "engine": ENGINE_VERSION,
            "slat": slat_to_json(proved.at.slat),
            "bit": bit_to_json(proved.at.bit),
            "allowances": allowances_to_json(proved.at.allowances),
            "placement": placement_to_json(proved.placement),
        },
        outline=carving.outline or "",
        picture=proved.picture,
        pieces=line.quantity if carving.piece is None else 1,
        verdict=judged.verdict,
        sentence=judged.sentence,
        check=judged.check,
        remarks=judged.remarks,
        waived=(),
        signed_at=None,
        judged_at=None,
        stale_because="",
        made_at=opened.now,
    )


def _refuse_cut(ctx: Context, payload: Mapping[str, Any], trouble: Trouble) -> None:
    with _waiting_carving(ctx, payload) as (opened, carving):
        if carving is not None:
            opened.move_carving(carving, "refuse", trouble=trouble)


@contextmanager
def _waiting_carving(ctx: Context, payload: Mapping[str, Any]) -> Iterator[tuple[OpenOrder, Carving | None]]:
    """The carving a proof is for, in hand; ``None`` when it has moved on."""
    with open_carving(ctx, System(payload["workshop"]), payload["subject"], "prove") as (opened, carving):
        wanted = _still(carving, payload) and opened.order.state in _OPEN
        yield opened, carving if wanted else None


def _waiting_for(opened: OpenOrder, kind: JobKind, payload: Mapping[str, Any]) -> list[Carving]:
    """The carvings of an open order that go no further without this work."""
    if opened.order.state not in _OPEN:
        return []
    found = list(opened.carvings.values())
    if kind is JobKind.READ_ARTWORK:
        waits = CarvingState.READING
        return [each for each in found if each.state is waits and each.reading_id == payload["subject"]]
    return [each for each in found if each.id == payload["subject"] and _still(each, payload)]


def _trouble(error: Refusal | Conflict) -> Trouble:
    if isinstance(error, Refusal):
        return Trouble(error.code, error.message, error.cure)
    return Trouble(error.code, error.message, "")
