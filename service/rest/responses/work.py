"""Background work, batches, the record and the answer to trials, as JSON."""

from __future__ import annotations

import base64
from collections.abc import Mapping
from dataclasses import dataclass

from service.batches.checkpoints import SignedCheckpoint
from service.orders.record import Checkpoint, Entry, Fault
from service.orders.work import Batch, BatchState, Job
from service.rest.raw_json import stored_as
from service.rest.responses.base import Total, shown, shows
from service.rest.responses.judged import ChangeBody, CheckBody
from service.rest.responses.orders import API, next_cursor
from service.usecases.answers import Cure, Judged, Page


@shows(Judged, without=("picture",))
class JudgedBody:
    """The answer to a trial, of which nothing is kept; `picture` is a PNG in base64 where asked for."""

    check: stored_as(CheckBody)  # type: ignore[valid-type]
    picture: str | None


@shows(Cure)
class CureBody:
    """One remedy on offer; it is taken by its `code`."""

    change: stored_as(ChangeBody)  # type: ignore[valid-type]


@dataclass(frozen=True)
class CuresBody:
    """What would make it carve, best first; empty where nothing would, or where it carves as it is."""

    items: tuple[CureBody, ...]


@dataclass(frozen=True)
class OrderCuresBody:
    """Cures of some carvings of an order, by the carvings' ids."""

    carvings: Mapping[str, tuple[CureBody, ...]]


@shows(Job, without=("workshop_id",))
class JobBody:
    """One piece of background work; `fraction` goes from 0 to 1."""


@dataclass(frozen=True)
class JobsBody:
    """Pieces of background work."""

    items: tuple[JobBody, ...]


@shows(Batch, without=("workshop_id",))
class BatchBody:
    """The released art of some orders, exported as one archive."""

    archive_url: str | None


@dataclass(frozen=True)
class BatchesBody:
    """One page of batches, newest first."""

    items: tuple[BatchBody, ...]
    next: str | None
    total: Total


@shows(Entry, without=("workshop_id", "particulars"))
class EntryBody:
    """One entry of the record; `name`, `address`, `words` are `null` once erased or not yours to see."""

    name: str | None
    address: str | None
    words: str | None


@dataclass(frozen=True)
class EntriesBody:
    """Entries of the record, and where the next page starts."""

    items: tuple[EntryBody, ...]
    next: str | None
    total: Total


@shows(Checkpoint)
class CheckpointBody:
    """How far the record goes: keep it elsewhere, and no later record can hide what was in this one.

    `this` is the digest of entry `number`; `signature` (Ed25519, base64) is over the RFC 8785 canonical JSON
    of `number`, `this` and `workshop`.
    """

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
    return shown(JudgedBody, judged, picture=picture)


def cure_body(cure: Cure) -> CureBody:
    """From a remedy."""
    return shown(CureBody, cure)


def job_body(job: Job) -> JobBody:
    """From a piece of work."""
    return shown(JobBody, job)


def batch_body(batch: Batch) -> BatchBody:
    """From a batch."""
    ready = batch.state == BatchState.READY
    return shown(BatchBody, batch, archive_url=f"{API}/batches/{batch.id}/archive" if ready else None)


def batches_body(page: Page[Batch]) -> BatchesBody:
    """From one page of batches."""
    return BatchesBody(tuple(batch_body(batch) for batch in page.items), next_cursor(page), page.total)


def entry_body(entry: Entry) -> EntryBody:
    """From an entry of the record."""
    person = entry.particulars
    told = {name: getattr(person, name) if person else None for name in ("name", "address", "words")}
    return shown(EntryBody, entry, **told)


def entries_body(page: Page[Entry]) -> EntriesBody:
    """From one page of the record."""
    return EntriesBody(tuple(entry_body(entry) for entry in page.items), next_cursor(page), page.total)


def verification_body(fault: Fault | None, signed: SignedCheckpoint) -> VerificationBody:
    """From the answer of the re-check."""
    checkpoint = shown(CheckpointBody, signed.checkpoint, key=signed.key, signature=signed.signature)
    if fault is None:
        return VerificationBody(True, None, "", checkpoint)
    return VerificationBody(False, fault.number, fault.reason, checkpoint)
