"""Background work, batches, the record and the answer to trials, as JSON."""

from __future__ import annotations

import base64
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from artwork.cut import Placement
from service.batches.checkpoints import SignedCheckpoint
from service.orders.record import Entry, EntryKind, Fault
from service.orders.work import Batch, BatchState, Job, JobKind, JobState
from service.rest.bodies.orders import API, next_cursor
from service.usecases.answers import Cure, Judged, Page


@dataclass(frozen=True)
class JudgedBody:
    """The answer to a trial, of which nothing is kept; `picture` is a PNG in base64 where asked for."""

    digest: str
    placement: Placement
    verdict: str
    sentence: str
    check: Mapping[str, Any]
    picture: str | None


@dataclass(frozen=True)
class CureBody:
    """One remedy on offer; it is taken by its `code`."""

    code: str
    sentence: str
    placement: Placement
    slat_key: str
    bit_key: str
    change: Mapping[str, Any]


@dataclass(frozen=True)
class CuresBody:
    """What would make it carve, best first; empty where nothing would, or where it carves as it is."""

    items: tuple[CureBody, ...]


@dataclass(frozen=True)
class OrderCuresBody:
    """Cures of some carvings of an order, by the carvings' ids."""

    carvings: Mapping[str, tuple[CureBody, ...]]


@dataclass(frozen=True)
class JobBody:
    """One piece of background work; `fraction` goes from 0 to 1."""

    id: str
    order_id: str | None
    subject_id: str
    kind: JobKind
    state: JobState
    stage: str
    fraction: float
    message: str
    attempts: int
    created_at: datetime
    updated_at: datetime


@dataclass(frozen=True)
class JobsBody:
    """The background work of an order, newest first."""

    items: tuple[JobBody, ...]


@dataclass(frozen=True)
class BatchBody:
    """The released art of some orders, exported as one archive."""

    id: str
    order_ids: tuple[str, ...]
    state: BatchState
    archive: str | None
    size: int | None
    message: str
    created_at: datetime
    archive_url: str | None


@dataclass(frozen=True)
class BatchesBody:
    """One page of batches, newest first."""

    items: tuple[BatchBody, ...]
    next: str | None


@dataclass(frozen=True)
class EntryBody:
    """One entry of the record; `name`, `address`, `words` are `null` once erased or not yours to see."""

    number: int
    kind: EntryKind
    at: datetime
    actor: str
    order_id: str | None
    carving_id: str | None
    proof_id: str | None
    digest: str | None
    picture: str | None
    facts: Mapping[str, Any]
    seal: str
    previous: str
    this: str
    name: str | None
    address: str | None
    words: str | None


@dataclass(frozen=True)
class EntriesBody:
    """Entries of the record, and where the next page starts."""

    items: tuple[EntryBody, ...]
    next: str | None


@dataclass(frozen=True)
class CheckpointBody:
    """How far the record goes: keep it elsewhere, and no later record can hide what was in this one.

    `this` is the digest of entry `number`; `signature` (Ed25519, base64) is over the RFC 8785 canonical JSON
    of `number`, `this` and `workshop`.
    """

    workshop: str
    number: int
    this: str
    key: str
    signature: str


@dataclass(frozen=True)
class VerificationBody:
    """Whether the whole chain holds, and the first entry that does not."""

    holds: bool
    first_bad_entry: int | None
    reason: str
    checkpoint: CheckpointBody


def judged_body(judged: Judged) -> JudgedBody:
    """From a trial's answer."""
    picture = base64.b64encode(judged.picture).decode() if judged.picture is not None else None
    return JudgedBody(judged.digest, judged.placement, judged.verdict, judged.sentence, judged.check, picture)


def cure_body(cure: Cure) -> CureBody:
    """From a remedy."""
    return CureBody(cure.code, cure.sentence, cure.placement, cure.slat_key, cure.bit_key, cure.change)


def job_body(job: Job) -> JobBody:
    """From a piece of work."""
    return JobBody(
        id=job.id,
        order_id=job.order_id,
        subject_id=job.subject_id,
        kind=job.kind,
        state=job.state,
        stage=job.stage,
        fraction=job.fraction,
        message=job.message,
        attempts=job.attempts,
        created_at=job.created_at,
        updated_at=job.updated_at,
    )


def batch_body(batch: Batch) -> BatchBody:
    """From a batch."""
    ready = batch.state == BatchState.READY
    return BatchBody(
        id=batch.id,
        order_ids=batch.order_ids,
        state=batch.state,
        archive=batch.archive,
        size=batch.size,
        message=batch.message,
        created_at=batch.created_at,
        archive_url=f"{API}/batches/{batch.id}/archive" if ready else None,
    )


def batches_body(page: Page[Batch]) -> BatchesBody:
    """From one page of batches."""
    return BatchesBody(tuple(batch_body(batch) for batch in page.items), next_cursor(page))


def entry_body(entry: Entry) -> EntryBody:
    """From an entry of the record."""
    person = entry.particulars
    return EntryBody(
        number=entry.number,
        kind=entry.kind,
        at=entry.at,
        actor=entry.actor,
        order_id=entry.order_id,
        carving_id=entry.carving_id,
        proof_id=entry.proof_id,
        digest=entry.digest,
        picture=entry.picture,
        facts=entry.facts,
        seal=entry.seal,
        previous=entry.previous,
        this=entry.this,
        name=person.name if person else None,
        address=person.address if person else None,
        words=person.words if person else None,
    )


def entries_body(page: Page[Entry]) -> EntriesBody:
    """From one page of the record."""
    return EntriesBody(tuple(entry_body(entry) for entry in page.items), next_cursor(page))


def verification_body(fault: Fault | None, signed: SignedCheckpoint) -> VerificationBody:
    """From the answer of the re-check."""
    checkpoint = CheckpointBody(**vars(signed.checkpoint), key=signed.key, signature=signed.signature)
    if fault is None:
        return VerificationBody(True, None, "", checkpoint)
    return VerificationBody(False, fault.number, fault.reason, checkpoint)
