"""How entries of the record hang together: canonical JSON (RFC 8785), SHA-256, each naming the one before."""

from __future__ import annotations

import hashlib
import secrets
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from typing import Any

import rfc8785

from service.orders.record import Checkpoint, Entry, EntryKind, Fault, Particulars, Witness

BEFORE_THE_FIRST = "0" * 64
_SALT_BYTES = 16


@dataclass(frozen=True)
class AuditEvent:
    """What is about to be entered: an entry without its place in the chain.

    Attributes:
        name, address, words: become the entry's particulars; the rest as in :class:`Entry`.
    """

    kind: EntryKind
    at: datetime
    actor: str
    order_id: str | None = None
    carving_id: str | None = None
    proof_id: str | None = None
    digest: str | None = None
    picture: str | None = None
    facts: Mapping[str, Any] = field(default_factory=dict)
    name: str = ""
    address: str = ""
    words: str = ""


def canonical_digest(value: Any) -> str:
    """SHA-256 over the RFC 8785 canonical JSON of plain values, 64 hex digits."""
    return hashlib.sha256(rfc8785.dumps(value)).hexdigest()


def moment(at: datetime) -> str:
    """A moment as RFC 3339 text in UTC, to the microsecond, always of the same length."""
    return at.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%S.%fZ")


def seal_of(particulars: Particulars) -> str:
    """What the chain holds of the particulars: fixes them, tells nothing once they are erased."""
    return canonical_digest(
        {
            "salt": particulars.salt,
            "name": particulars.name,
            "address": particulars.address,
            "words": particulars.words,
        }
    )


def body_of(entry: Entry) -> dict[str, Any]:
    """The plain values that ``entry.this`` is the digest of."""
    return {
        "workshop": entry.workshop_id,
        "number": entry.number,
        "kind": entry.kind.value,
        "at": moment(entry.at),
        "actor": entry.actor,
        "order": entry.order_id,
        "carving": entry.carving_id,
        "proof": entry.proof_id,
        "digest": entry.digest,
        "picture": entry.picture,
        "facts": entry.facts,
        "seal": entry.seal,
        "previous": entry.previous,
    }


def link(deed: AuditEvent, workshop_id: str, number: int, previous: str) -> Entry:
    """The entry for ``deed`` as number ``number`` after the entry whose digest is ``previous``."""
    particulars = Particulars(secrets.token_hex(_SALT_BYTES), deed.name, deed.address, deed.words)
    entry = Entry(
        workshop_id=workshop_id,
        number=number,
        kind=deed.kind,
        at=deed.at,
        actor=deed.actor,
        order_id=deed.order_id,
        carving_id=deed.carving_id,
        proof_id=deed.proof_id,
        digest=deed.digest,
        picture=deed.picture,
        facts=deed.facts,
        seal=seal_of(particulars),
        previous=previous,
        this="",
        particulars=particulars,
    )
    return _named(entry)


def _named(entry: Entry) -> Entry:
    return replace(entry, this=canonical_digest(body_of(entry)))


def first_fault(
    entries: Iterable[Entry], head: tuple[int, str] | None, erased_orders: frozenset[str]
) -> Fault | None:
    """Walk a whole record, oldest entry first; the first entry that does not hold, or ``None``.

    Args:
        entries: all of one workshop's entries.
        head: number and digest of the entry the store believes to be the last; ``None`` for no entry.
        erased_orders: orders whose particulars were erased by a later ERASURE entry.
    """
    number, previous = 0, BEFORE_THE_FIRST
    for entry in entries:
        number += 1
        reason = _fault_of(entry, number, previous, erased_orders)
        if reason:
            return Fault(number, reason)
        previous = entry.this
    last = head or (0, BEFORE_THE_FIRST)
    if last != (number, previous):
        return Fault(number + 1, f"The record ends at entry {number}, but its head names entry {last[0]}.")
    return None


def fault_by_witness(
    lasts: Mapping[str | None, int], witnesses: Iterable[Witness], orders_placed: int
) -> Fault | None:
    """What was cut off the end of a chain that holds in itself, by the rows that name its entries.

    Args:
        lasts: number of the last entry about each order, and under ``None`` about no order.
        witnesses: the workshop itself and all of its orders.
        orders_placed: how many orders were ever placed; none of them is ever removed.
    """
    known = {witness.order_id: witness for witness in witnesses}
    for about, last in sorted(lasts.items(), key=lambda item: item[1]):
        if about not in known:
            return Fault(last, f"Entry {last} is about an order that is gone.")
    for witness in sorted(known.values(), key=lambda each: each.entry):
        if witness.entry > lasts.get(witness.order_id, 0):
            whose = f"order {witness.number}" if witness.order_id else "the workshop's settings and people"
            return Fault(witness.entry, f"Entry {witness.entry}, about {whose}, is missing.")
    there = {witness.number for witness in known.values()}
    gone = next((number for number in range(1, orders_placed + 1) if number not in there), None)
    return None if gone is None else Fault(0, f"Order {gone} is gone, with all that was on record about it.")


def fault_by_checkpoint(entry: Entry | None, checkpoint: Checkpoint) -> Fault | None:
    """What a checkpoint kept elsewhere shows; ``entry``: the one that now has its number."""
    if entry is None:
        words = f"Entry {checkpoint.number} is missing; a checkpoint kept elsewhere names it."
        return Fault(checkpoint.number, words)
    if entry.this != checkpoint.this:
        words = (
            f"Entry {checkpoint.number} or one before it is not what it was at a checkpoint kept elsewhere."
        )
        return Fault(checkpoint.number, words)
    return None


def _fault_of(entry: Entry, number: int, previous: str, erased_orders: frozenset[str]) -> str | None:
    if entry.number != number:
        return f"Entry {number} is missing; the next one there is number {entry.number}."
    if entry.previous != previous:
        return f"Entry {number} does not name the entry before it."
    if canonical_digest(body_of(entry)) != entry.this:
        return f"Entry {number} was changed: it no longer gives its own digest."
    if entry.particulars is None and entry.order_id not in erased_orders:
        return f"The particulars of entry {number} are gone, and no erasure of its order is on record."
    if entry.particulars is not None and seal_of(entry.particulars) != entry.seal:
        return f"The particulars of entry {number} were changed: they no longer fit its seal."
    return None
