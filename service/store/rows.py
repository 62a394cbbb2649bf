"""Rows as values and values as rows."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict, replace
from datetime import date
from typing import Any

from sqlalchemy import Row

from artwork.cut import Placement
from artwork.intake.values import Wishes
from service.orders.artworks import Artwork, ReadingState, StoredReading
from service.orders.order import Carving, Contact, KeptArt, Line, Order, Trouble
from service.orders.proofs import Proof
from service.orders.record import Entry, EntryKind, Particulars
from service.orders.states import CarvingState, OrderState
from service.orders.work import Batch, BatchState, Job, JobKind, JobState
from service.store.stored_json import StoredJson

AnyRow = Row[Any]
NO_DATE = date(9999, 12, 31)


def order_of(row: AnyRow) -> Order:
    """A row of ``orders``."""
    return Order(
        id=row.id,
        workshop_id=row.workshop_id,
        number=row.number,
        state=OrderState(row.state),
        revision=row.revision,
        activity=row.activity,
        contact=Contact(row.contact_name, row.contact_email, row.contact_phone, row.contact_organisation),
        needed_by=row.needed_by,
        rights_granted=row.rights_granted,
        note=row.note,
        created_at=row.created_at,
        updated_at=row.updated_at,
        submitted_at=row.submitted_at,
        released_at=row.released_at,
        reason=row.reason,
        copied_from=row.copied_from,
        erased_at=row.erased_at,
    )


def order_values(order: Order) -> dict[str, Any]:
    """The columns of ``orders``."""
    return {
        "id": order.id,
        "workshop_id": order.workshop_id,
        "number": order.number,
        "state": order.state.value,
        "revision": order.revision,
        "activity": order.activity,
        "contact_name": order.contact.name,
        "contact_email": order.contact.email,
        "contact_phone": order.contact.phone,
        "contact_organisation": order.contact.organisation,
        "needed_by": order.needed_by,
        "due": order.needed_by or NO_DATE,
        "rights_granted": order.rights_granted,
        "note": order.note,
        "reason": order.reason,
        "copied_from": order.copied_from,
        "created_at": order.created_at,
        "updated_at": order.updated_at,
        "submitted_at": order.submitted_at,
        "released_at": order.released_at,
        "erased_at": order.erased_at,
    }


def line_of(row: AnyRow) -> Line:
    """A row of ``lines``."""
    return Line(row.id, row.order_id, row.position, row.model_key, row.quantity, row.note)


def carving_of(row: AnyRow) -> Carving:
    """A row of ``carvings``."""
    return Carving(
        id=row.id,
        order_id=row.order_id,
        line_id=row.line_id,
        slat_key=row.slat_key,
        piece=row.piece or None,
        state=CarvingState(row.state),
        revision=row.revision,
        artwork_id=row.artwork_id,
        reading_id=row.reading_id,
        outline=row.outline,
        outline_note=row.outline_note,
        placement=_placement_of(row.placement),
        bit_key=row.bit_key,
        thickness=row.thickness,
        allowances=row.allowances,
        proof_id=row.proof_id,
        verdict=row.verdict,
        trouble=_trouble_of(row.trouble),
        kept=_kept_of(row.kept, row.kept_outline),
    )


def carving_values(carving: Carving, workshop_id: str) -> dict[str, Any]:
    """The columns of ``carvings``."""
    return {
        "id": carving.id,
        "workshop_id": workshop_id,
        "order_id": carving.order_id,
        "line_id": carving.line_id,
        "slat_key": carving.slat_key,
        "piece": carving.piece or 0,
        "state": carving.state.value,
        "revision": carving.revision,
        "artwork_id": carving.artwork_id,
        "reading_id": carving.reading_id,
        "outline": carving.outline,
        "outline_note": carving.outline_note,
        "placement": None if carving.placement is None else asdict(carving.placement),
        "bit_key": carving.bit_key,
        "thickness": carving.thickness,
        "allowances": dict(carving.allowances),
        "proof_id": carving.proof_id,
        "verdict": carving.verdict,
        "trouble": trouble_plain(carving.trouble),
        "kept": _kept_plain(carving.kept),
        "kept_outline": next((art.outline for art in carving.kept if art.outline is not None), None),
    }


def _placement_of(plain: Mapping[str, Any] | None) -> Placement | None:
    return None if plain is None else Placement(**plain)


def _kept_plain(kept: tuple[KeptArt, ...]) -> list[dict[str, Any]] | None:
    """Field → value of each; the one outline is a column of its own, because it names a file."""
    return [{k: v for k, v in asdict(art).items() if k != "outline"} for art in kept] or None


def _kept_of(
    plain: Sequence[Mapping[str, Any]] | Mapping[str, Any] | None, outline: str | None
) -> tuple[KeptArt, ...]:
    """Rows written before several could be kept hold one alone, not in a list."""
    each = [plain] if isinstance(plain, Mapping) else plain or ()
    kept = [KeptArt(**{**art, "placement": _placement_of(art["placement"])}, outline=None) for art in each]
    return (*kept[:-1], replace(kept[-1], outline=outline)) if kept else ()


def artwork_of(row: AnyRow) -> Artwork:
    """A row of ``artworks``."""
    return Artwork(row.id, row.order_id, row.sha256, row.name, row.content_type, row.size, row.uploaded_at)


def reading_of(row: AnyRow) -> StoredReading:
    """A row of ``readings``."""
    return StoredReading(
        id=row.id,
        artwork_id=row.artwork_id,
        order_id=row.order_id,
        wishes=wishes_from(row.wishes),
        state=ReadingState(row.state),
        outline=row.outline,
        picture=row.picture,
        kind=row.kind,
        format=row.format,
        report=row.report,
        trouble=_trouble_of(row.trouble),
    )


def proof_of(row: AnyRow) -> Proof:
    """A row of ``proofs`` joined with its ``standings``."""
    return Proof(
        id=row.id,
        order_id=row.order_id,
        carving_id=row.carving_id,
        number=row.number,
        digest=row.digest,
        basis=row.basis,
        facts=StoredJson(row.facts),
        outline=row.outline,
        picture=row.picture,
        pieces=row.pieces,
        verdict=row.verdict,
        sentence=row.sentence,
        check=StoredJson(row.check),
        remarks=tuple(row.remarks),
        waived=tuple(row.waived),
        signed_at=row.signed_at,
        judged_at=row.judged_at,
        stale_because=row.stale_because,
        made_at=row.made_at,
    )


def entry_of(row: AnyRow) -> Entry:
    """A row of ``record`` joined with its particulars, which may be gone."""
    particulars = None if row.salt is None else Particulars(row.salt, row.name, row.address, row.words)
    return Entry(
        workshop_id=row.workshop_id,
        number=row.number,
        kind=EntryKind(row.kind),
        at=row.at,
        actor=row.actor,
        order_id=row.order_id,
        carving_id=row.carving_id,
        proof_id=row.proof_id,
        digest=row.digest,
        picture=row.picture,
        facts=row.facts,
        seal=row.seal,
        previous=row.previous,
        this=row.this,
        particulars=particulars,
    )


def job_of(row: AnyRow) -> Job:
    """A row of ``jobs``."""
    return Job(
        id=row.id,
        workshop_id=row.workshop_id,
        order_id=row.order_id,
        subject_id=row.subject_id,
        kind=JobKind(row.kind),
        state=JobState(row.state),
        stage=row.stage,
        fraction=row.fraction,
        message=row.message,
        attempts=row.attempts,
        created_at=row.created_at,
        updated_at=row.updated_at,
    )


def batch_of(row: AnyRow) -> Batch:
    """A row of ``batches``."""
    return Batch(
        id=row.id,
        workshop_id=row.workshop_id,
        order_ids=tuple(row.order_ids),
        state=BatchState(row.state),
        archive=row.archive,
        size=row.size,
        message=row.message,
        created_at=row.created_at,
    )


def wishes_plain(wishes: Wishes) -> dict[str, Any]:
    """Field → value."""
    plain = asdict(wishes)
    plain["inks"] = None if wishes.inks is None else list(wishes.inks)
    return plain


def wishes_from(plain: Mapping[str, Any]) -> Wishes:
    """Back."""
    inks = plain.get("inks")
    return Wishes(**{**plain, "inks": None if inks is None else tuple(inks)})


def trouble_plain(trouble: Trouble | None) -> dict[str, str] | None:
    """Field → value."""
    return None if trouble is None else asdict(trouble)


def _trouble_of(plain: Mapping[str, str] | None) -> Trouble | None:
    return None if plain is None else Trouble(**plain)
