"""Bodies of the background work. Each may be run again after a crash: what is done is not done twice.

A body computes outside of transactions and stores what it found in one. Before it stores it looks whether the
world has moved on meanwhile; then its result is dropped, or asked for again.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Any

from artwork.cut import Placement
from artwork.errors import EngineError
from artwork.intake.foreign import Converted
from service.orders.actors import System
from service.orders.artworks import Artwork, ReadingState, StoredReading
from service.orders.cuts import basis_of, circumstances
from service.orders.errors import ConflictError
from service.orders.order import Carving, Trouble
from service.orders.states import CarvingState
from service.orders.work import JobKind, JobState
from service.store import art, jobs, orders, shop
from service.store.tenant_scope import TenantScope
from service.usecases import computing, patience
from service.usecases.batching import fail_batch, make_batch
from service.usecases.blob_refs import add_blob_refs
from service.usecases.context import Context
from service.usecases.opened import OpenOrder, open_order
from service.usecases.payloads import WHENCE
from service.usecases.progress import Progress
from service.usecases.proving import OPEN, make_proof, still_waits, trouble_of
from service.usecases.suite_work import make_suite, waiting_parts
from service.usecases.version_work import make_versions


def read_artwork_job(ctx: Context, payload: Mapping[str, Any]) -> None:
    """Read a file, lay it on the carvings that wait for it, and ask for their proofs. TooOftenError."""
    _work(ctx, JobKind.READ_ARTWORK, payload, lambda progress: _read_artwork(ctx, payload, progress))


def prove_job(ctx: Context, payload: Mapping[str, Any]) -> None:
    """Check the carving's cut and draw it: a new proof, unless it has changed since. TooOftenError."""
    _work(ctx, JobKind.PROVE, payload, lambda progress: make_proof(ctx, payload, progress))


def suite_job(ctx: Context, payload: Mapping[str, Any]) -> None:
    """Make and judge every part of a run of texts, or of a picture over several slats. TooOftenError."""
    _work(ctx, JobKind.SUITE, payload, lambda progress: make_suite(ctx, payload, progress))


def versions_job(ctx: Context, payload: Mapping[str, Any]) -> None:
    """Work out versions of a drawing that carve, once for the same cut. TooOftenError."""
    _work(ctx, JobKind.VERSIONS, payload, lambda progress: make_versions(ctx, payload, progress))


def batch_job(ctx: Context, payload: Mapping[str, Any]) -> None:
    """Assemble a batch's archive from released proofs. TooOftenError."""
    subject = payload["subject"]
    _work(ctx, JobKind.BATCH, payload, lambda done: make_batch(ctx, payload["workshop"], subject, done))


BODIES: Mapping[JobKind, Callable[[Context, Mapping[str, Any]], None]] = {
    JobKind.READ_ARTWORK: read_artwork_job,
    JobKind.PROVE: prove_job,
    JobKind.SUITE: suite_job,
    JobKind.VERSIONS: versions_job,
    JobKind.BATCH: batch_job,
}


def fail_job(ctx: Context, payload: Mapping[str, Any], message: str) -> None:
    """The work was given up after too many tries: say so where people look.

    Args:
        message: what went wrong, for those who run the service; people who wait are told what to do.
    """
    actor = System(payload["workshop"])
    with ctx.store.writing() as connection:
        job = jobs.find_job(connection, TenantScope(payload["workshop"]), payload["job"])
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
            "Something went wrong here, and went wrong again each time it was tried.",
            "The workshop sees this and can have it tried again; your file is kept. You need not send another.",
        )
        with open_order(ctx, actor, job.order_id, "refuse") as opened:
            for carving in _waiting_for(opened, job.kind, payload):
                opened.refuse(carving, trouble)
            opened.changed()


def note_wait(ctx: Context, payload: Mapping[str, Any], words: str) -> None:
    """A part that the work needs is away: it waits again, and this beginning is not counted.

    Args:
        words: what is away and that it goes on by itself, for people who wait.
    """
    with ctx.store.writing() as connection:
        jobs.put_off_job(connection, payload["job"], ctx.clock.now(), words)


def _work(ctx: Context, kind: JobKind, payload: Mapping[str, Any], body: Callable[[Progress], None]) -> None:
    """Note that the job runs, do it, and, unless that fails, note that it is done; nothing if it has ended."""
    progress = Progress(ctx, payload["job"], kind.value)
    if progress.begin():
        body(progress)
        progress.done()


def _read_artwork(ctx: Context, payload: Mapping[str, Any], progress: Progress) -> None:
    reach = TenantScope(payload["workshop"])
    with ctx.store.reading() as connection:
        found = art.readings_by_ids(connection, reach, [payload["subject"]])
        files = art.artworks_by_ids(connection, reach, [each.artwork_id for each in found])
    if not found:
        return  # erased meanwhile
    made = _Made(found[0])
    if made.reading.state is ReadingState.WAITING:
        progress.say("reading", 0.1)
        read = _read(ctx, payload, made.reading, files[0])
        if read is None:
            return  # it is tried again, for longer
        made = read
    progress.say("placing", 0.7)
    _lay_out(ctx, made, payload)


@dataclass(frozen=True)
class _Made:
    """A reading, whether it was made just now, and the files made with it: digest and bytes."""

    reading: StoredReading
    fresh: bool = False
    files: tuple[tuple[str, bytes], ...] = ()


_MOST_CONVERTED = 9
"""How often a file is read where each time asks for another part: as many as are tried of those within it, and once."""


def _read(ctx: Context, payload: Mapping[str, Any], reading: StoredReading, file: Artwork) -> _Made | None:
    try:
        read = _read_file(ctx, payload, reading, file)
    except EngineError as refusal:
        told = refusal
        if patience.is_to_be_tried_longer(payload, refusal):
            spent = patience.try_longer(ctx, JobKind.READ_ARTWORK, payload, reading.order_id)
            if spent is None:
                return None
            told = spent
        return _Made(replace(reading, state=ReadingState.REFUSED, trouble=trouble_of(told)), fresh=True)
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
    return _Made(done, fresh=True, files=((outline, read.outline), (picture, read.picture)))


def _read_file(
    ctx: Context, payload: Mapping[str, Any], reading: StoredReading, file: Artwork
) -> computing.ReadArt:
    """Read it; what other programs must convert first, they convert, and it is read again. EngineError."""
    data = ctx.blobs.get(file.sha256)
    drawings: dict[str, Converted] = {}
    for _ in range(_MOST_CONVERTED):
        read = ctx.compute.run(
            computing.read_art,
            data,
            file.name,
            reading.wishes,
            ctx.art_limits,
            drawings,
            about=file.sha256,
            stranger=True,
            **patience.of_try(payload),
        )
        if isinstance(read, computing.ReadArt):
            return read
        drawings.update((part.digest, ctx.compute.convert(part)) for part in read.parts)
    raise RuntimeError("a reading asks for more and more to be converted")


def _lay_out(ctx: Context, made: _Made, payload: Mapping[str, Any]) -> None:
    """Store what was read; every carving that waits for it goes on."""
    reading, workshop_id = made.reading, payload["workshop"]
    places = _places(ctx, made, workshop_id) if reading.state is ReadingState.READ else {}
    actor = System(workshop_id)
    with open_order(ctx, actor, reading.order_id, "read") as opened:
        opened.whence = payload.get(WHENCE, "")
        if made.fresh:
            if not art.finish_reading(opened.connection, reading):
                return  # another worker was faster, or the order was erased
            add_blob_refs(ctx, opened.connection, *made.files)
            opened.changed()
        again = False
        for carving in _waiting_for(opened, JobKind.READ_ARTWORK, {"subject": reading.id}):
            if reading.trouble is not None:
                opened.refuse(carving, reading.trouble)
            elif carving.placement is not None:
                _go_on(opened, carving, reading, carving.placement)
            elif carving.id not in places:
                again = True  # came to this reading after the places were worked out
            elif isinstance(place := places[carving.id], Trouble):
                opened.refuse(carving, place)
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
    reach = TenantScope(workshop_id, reading.order_id)
    with ctx.store.reading() as connection:
        carvings = orders.carvings_of_orders(connection, reach, [reading.order_id])
        lines = {line.id: line for line in orders.lines_of_orders(connection, reach, [reading.order_id])}
        settings = shop.read_settings(connection, workshop_id)
    outline = dict(made.files).get(reading.outline) or ctx.blobs.get(reading.outline)
    known: dict[tuple[str, float | None], Placement | Trouble] = {}
    places: dict[str, Placement | Trouble] = {}
    for carving in carvings:
        if carving.reading_id != reading.id or carving.state is not CarvingState.READING:
            continue
        try:
            at = circumstances(carving, lines[carving.line_id], settings)
            alike = basis_of(at), at.art_y
            if alike not in known:
                known[alike] = ctx.compute.run(computing.lay, outline, at, about=reading.outline)
            places[carving.id] = known[alike]
        except (EngineError, ConflictError) as error:
            places[carving.id] = trouble_of(error)
    return places


def _waiting_for(opened: OpenOrder, kind: JobKind, payload: Mapping[str, Any]) -> list[Carving]:
    """The carvings of an open order that go no further without this work."""
    if opened.order.state not in OPEN:
        return []
    found = list(opened.carvings.values())
    if kind is JobKind.READ_ARTWORK:
        waits = CarvingState.READING
        return [each for each in found if each.state is waits and each.reading_id == payload["subject"]]
    if kind is JobKind.VERSIONS:
        return []  # a carving is what it is without them
    if kind is JobKind.SUITE:
        return waiting_parts(opened, payload["subject"])
    return [each for each in found if each.id == payload["subject"] and still_waits(each, payload)]
